import { InputError } from '@duskbank/core/input';
import { check } from '@duskbank/core/study';
import { EXIT } from '../io/fail.ts';
import { intervalEndOf } from '../io/interval-end.ts';
import { print, printJson } from '../io/output.ts';
import { readInput } from '../io/read.ts';
import { xlsx } from '../io/xlsx.ts';
import { yaml } from '../io/yaml.ts';
import { checkText } from '../render/check.ts';

interface Options {
  json?: boolean;
  zone?: string;
  unit?: string;
  sheet?: string;
  intervalEnd?: boolean;
  intervalStart?: boolean;
}

/** `duskbank check FILE`: reads any input file of ours, says what it understood and what is wrong. */
export async function run(file: string, options: Options): Promise<void> {
  const { zone, unit, sheet } = options;
  const intervalEnd = intervalEndOf(options);
  const { report, issues } = await check(file, readInput, { yaml, xlsx, zone, unit, sheet, intervalEnd });
  if (options.json) {
    printJson(report);
    if (issues.length > 0) process.exitCode = EXIT.input;
    return;
  }
  const text = checkText(report);
  if (text !== '') print(text);
  if (issues.length > 0) throw new InputError(issues);
}
