import { decodeDocument, InputError, type SourceDocument } from '@duskbank/core/input';
import { settings } from '@duskbank/core/study';
import { inputFault } from '../io/fail.ts';
import { numberIn } from '../io/number.ts';
import { noteWarnings, print, printJson } from '../io/output.ts';
import { makeProgress } from '../io/progress.ts';
import { MAX_DOCUMENT_BYTES, readInput } from '../io/read.ts';
import { readStudy } from '../io/site.ts';
import { dateNamed, today } from '../io/today.ts';
import { yaml } from '../io/yaml.ts';
import { settingsText } from '../render/settings.ts';

interface Options {
  json?: boolean;
  try?: string;
  charge?: string;
  chargeTo?: string;
  chargeKw?: string;
  carry?: string;
  reserve?: string;
  today?: string;
}

/** Settings to be judged; of a file, its name and the lines of its fields. */
interface Tried {
  readonly document: unknown;
  readonly file?: string;
  readonly lineOf?: SourceDocument['lineOf'];
}

/** `duskbank settings SITE` */
export async function run(sitePath: string, options: Options): Promise<void> {
  const tried = triedOf(options);
  const now = options.today === undefined ? undefined : dateNamed(options.today, '--today');
  const study = await readStudy(sitePath);
  const progress = makeProgress();
  const report = namingFlags(tried, () =>
    settings(study, {
      ...(tried === undefined
        ? {}
        : { tried: { document: tried.document, ...(tried.file === undefined ? {} : { file: tried.file }) } }),
      today: now ?? today(study.home.axis.zone),
      onStep: (what) => progress.step(what),
    }),
  );
  progress.done();
  if (!options.json) {
    print(settingsText(report));
    return;
  }
  printJson(report);
  noteWarnings(report.warnings);
}

/** Faults of settings that came from options name the option, not the field that it was put into; of a file, the line. */
function namingFlags<T>(tried: Tried | undefined, step: () => T): T {
  try {
    return step();
  } catch (error) {
    if (!(error instanceof InputError) || tried === undefined) throw error;
    const { file, lineOf } = tried;
    throw new InputError(
      error.issues.map((issue) => {
        const { where } = issue;
        if (file !== undefined) {
          const line = where.file === file && where.path !== undefined ? lineOf?.(where.path) : undefined;
          return line === undefined ? issue : { ...issue, where: { file, line, ...where } };
        }
        const flag = FLAG_OF[String(where.path?.at(-1))];
        return flag === undefined ? issue : { ...issue, where: { column: flag } };
      }),
    );
  }
}

const FLAG_OF: Readonly<Record<string, string>> = {
  reservePercent: '--reserve',
  chargeKw: '--charge-kw',
  toPercent: '--charge-to',
  charge: '--charge',
  carry: '--carry',
};

const FLAGS = ['charge', 'chargeTo', 'chargeKw', 'carry', 'reserve'] as const;

/** Settings to be judged, from a file or from options; undefined where none are given. */
function triedOf(options: Options): Tried | undefined {
  const given = FLAGS.filter((name) => options[name] !== undefined);
  const file = options.try;
  if (file !== undefined) {
    if (given.length > 0)
      throw inputFault({
        code: 'not-together',
        where: { column: '--try' },
        received: `--try beside --${dashed(given[0]!)}`,
        expected: 'one of the two',
        hint: 'say all of it in the file, or all of it in options',
      });
    const { value, lineOf } = decodeDocument(readInput(file, MAX_DOCUMENT_BYTES), file, yaml);
    return { document: value, file, lineOf };
  }
  if (given.length === 0) return undefined;
  const { charge, carry } = options;
  const toPercent = numberOf(options, 'chargeTo');
  const reservePercent = numberOf(options, 'reserve');
  const chargeKw = numberOf(options, 'chargeKw');
  if (charge === undefined && (toPercent !== undefined || chargeKw !== undefined))
    throw inputFault({
      code: 'missing',
      where: { column: '--charge' },
      received: 'nothing',
      expected: 'the window in which the box charges from the grid, such as "23:00-05:00"',
      hint: `${chargeKw === undefined ? '--charge-to' : '--charge-kw'} says more of that window, so name both: --charge 23:00-05:00 ${chargeKw === undefined ? `--charge-to ${options.chargeTo}` : `--charge-kw ${options.chargeKw}`}; without either, "settings" finds the window, its target and its power`,
    });
  return {
    document: {
      ...(reservePercent === undefined ? {} : { reservePercent }),
      ...(chargeKw === undefined ? {} : { chargeKw }),
      schedules: [
        {
          ...(charge === undefined
            ? {}
            : { charge: { ...windowOf(charge, '--charge'), ...(toPercent === undefined ? {} : { toPercent }) } }),
          ...(carry === undefined ? {} : { carry: windowOf(carry, '--carry') }),
        },
      ],
    },
  };
}

function dashed(name: string): string {
  return name.replace(/[A-Z]/g, (letter) => `-${letter.toLowerCase()}`);
}

/** A percentage with its sign is handed on as text: "1 %" is meant, where 1 alone may be a share. */
function numberOf(options: Options, name: 'chargeTo' | 'chargeKw' | 'reserve'): number | string | undefined {
  const given = options[name];
  if (given === undefined) return undefined;
  const isPercent = name !== 'chargeKw';
  if (isPercent && /^\d+(\.\d+)? ?%$/.test(given.trim())) return given.trim();
  const value = numberIn(given);
  if (value >= (isPercent ? 0 : 0.001) && value <= (isPercent ? 100 : 1_000_000)) return value;
  throw inputFault({
    code: 'out-of-range',
    where: { column: `--${dashed(name)}` },
    received: `"${given}"`,
    expected: isPercent
      ? 'a share of usable energy in percent, 0 to 100'
      : 'a power in kW, such as 2.5: 0.001 or more, and about what the plant takes',
  });
}

/** "23:00-05:00", or with a dash as it is printed; hours alone mean the full hour. */
function windowOf(given: string, option: string): { from: string; to: string } {
  const found = /^\s*(\d{1,2})(?::(\d\d))?\s*(?:-|–|to)\s*(\d{1,2})(?::(\d\d))?\s*$/.exec(given);
  const clock = (hour: string, minute = '00') => `${hour.padStart(2, '0')}:${minute}`;
  if (found !== null) {
    const [from, to] = [clock(found[1]!, found[2]), clock(found[3]!, found[4])];
    if ([from, to].every((time) => /^(([01]\d|2[0-3]):[0-5]\d|24:00)$/.test(time))) return { from, to };
  }
  throw inputFault({
    code: 'wrong-form',
    where: { column: option },
    received: `"${given}"`,
    expected: 'two times of the day, such as "23:00-05:00"',
  });
}
