import { InputError, type InputIssue, nearestName, reportIssue, showName } from '@duskbank/core/input';
import { faultsOf, parseIntervalData, UNITS, type Unit } from '@duskbank/core/meter';
import { EXIT, inputFault } from '../io/fail.ts';
import { type FileKind, kindOf } from '../io/kind.ts';
import { print, printJson } from '../io/output.ts';
import { MAX_DATA_BYTES, readInput } from '../io/read.ts';
import { readStudy, readTariff } from '../io/site.ts';
import { intervalsText, studyText, tariffText } from '../render/check.ts';

interface Options {
  json?: boolean;
  zone?: string;
  unit?: string;
}

/** What `check --json` prints. */
interface CheckReport {
  readonly format: 'duskbank.check/1';
  readonly file: string;
  readonly kind: FileKind;
  readonly ok: boolean;
  /** What was understood, in words. */
  readonly understood: string;
  readonly faults: readonly (InputIssue & { readonly message: string })[];
}

/** `duskbank check FILE`: reads any input file of ours, says what it understood and what is wrong. */
export async function run(file: string, options: Options): Promise<void> {
  const kind = kindOf(file, MAX_DATA_BYTES);
  let understood = '';
  let faults: readonly InputIssue[] = [];
  try {
    if (kind === 'site') understood = studyText(await readStudy(file));
    else if (kind === 'tariff') understood = tariffText(await readTariff(file));
    else if (kind === 'intervals') {
      const bytes = readInput(file, MAX_DATA_BYTES);
      const data = parseIntervalData(bytes, { zone: options.zone, unit: unitOf(options.unit) });
      understood = intervalsText(data);
      faults = faultsOf(file, data.findings);
    } else
      throw inputFault({
        code: 'no-format',
        where: { file, path: ['format'] },
        received: 'no "format" of Duskbank’s',
        expected: '"format": "duskbank.site/1" or "duskbank.tariff/1"',
        hint: '"duskbank init" writes files to start from',
      });
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    faults = error.issues;
  }
  if (options.json) {
    const report: CheckReport = {
      format: 'duskbank.check/1',
      file,
      kind,
      ok: faults.length === 0,
      understood,
      faults: faults.map(reportIssue),
    };
    printJson(report);
    if (faults.length > 0) process.exitCode = EXIT.input;
    return;
  }
  if (understood !== '') print(understood);
  if (faults.length > 0) throw new InputError(faults);
}

function unitOf(text: string | undefined): Unit | undefined {
  if (text === undefined) return undefined;
  const unit = UNITS.find((known) => known === text);
  if (unit !== undefined) return unit;
  const near = nearestName(text, UNITS);
  throw inputFault({
    code: 'not-allowed',
    where: { column: '--unit' },
    received: `"${showName(text)}"`,
    expected: `one of ${UNITS.join(', ')}`,
    ...(near === undefined ? {} : { hint: `did you mean "${near}"?` }),
  });
}
