import { wrap } from './text.ts';

interface Warning {
  readonly code: string;
  readonly message: string;
  readonly data?: unknown;
}

/**
 * Warnings of a screen, a paragraph each. Where the gaps that were filled are all that is estimated, their share isn't told a
 * second time; what counts there is whether on-peak hours are among them.
 */
export function warningLines(warnings: readonly Warning[], intervals: number): string[] {
  const filled = numberIn(warnings, 'gaps-filled', 'intervals') ?? 0;
  const share = numberIn(warnings, 'estimated-intervals', 'share') ?? 0;
  const inPeak = numberIn(warnings, 'estimated-intervals', 'peakShare') ?? 0;
  const isTwice = inPeak === 0 && Math.abs(share * intervals - filled) < 0.5;
  return warnings
    .filter(({ code }) => !(isTwice && code === 'estimated-intervals'))
    .map(({ message }) => wrap(`! ${message}`, 80, '  '));
}

/** What was found in the data that the first number may be wrong by: it stands beside that. */
export const DOUBTS: readonly string[] = [
  'clock-elsewhere',
  'days-of-zero',
  'net-signs-lost',
  'silent-hours',
  'sun-unseen',
];

/** Of these, what leaves open how much was sold or when: no figure is right before it is answered, so that they stand above the first. */
const OPEN: ReadonlySet<string> = new Set(['clock-elsewhere', 'net-signs-lost', 'sun-unseen']);

/** Whether a warning leaves open how much the home bought or sold, or when. That all is read answers for what was sold, not for the clock. */
export function leavesOpen({ code, data }: Warning): boolean {
  const { stated, middleHour, days } = (data ?? {}) as Record<string, unknown>;
  // A few days may be a journey with the main switch off.
  if (code === 'days-of-zero') return typeof days === 'number' && days >= 14;
  return OPEN.has(code) && (stated !== true || (code === 'sun-unseen' && middleHour !== undefined));
}

/** The same in two lots: what stands above the first figure, since none is right before it is answered, and all others. */
export function openApart({
  warnings,
  axis,
}: {
  readonly warnings: readonly Warning[];
  readonly axis: { readonly intervals: number };
}): { readonly open: string; readonly others: string } {
  const lot = (isOpen: boolean) =>
    warningLines(
      warnings.filter((warning) => leavesOpen(warning) === isOpen),
      axis.intervals,
    ).join('\n');
  return { open: lot(true), others: lot(false) };
}

/** The same in two lots: those of some codes, which bound the answer and stand beside it, and all others. */
export function warningsApart(
  { warnings, axis }: { readonly warnings: readonly Warning[]; readonly axis: { readonly intervals: number } },
  ...first: readonly string[]
): { readonly first: string; readonly others: string } {
  const lot = (isFirst: boolean) =>
    warningLines(
      warnings.filter(({ code }) => first.includes(code) === isFirst),
      axis.intervals,
    ).join('\n');
  return { first: lot(true), others: lot(false) };
}

function numberIn(warnings: readonly Warning[], code: string, name: string): number | undefined {
  const data = warnings.find((warning) => warning.code === code)?.data;
  const value = typeof data === 'object' && data !== null ? (data as Record<string, unknown>)[name] : undefined;
  return typeof value === 'number' ? value : undefined;
}
