import type { Finding } from '../meter/index.ts';
import {
  billedDiffers,
  CLOCK_ELSEWHERE,
  columnsBeside,
  energyLeftOut,
  GRID_REVERSED,
  HOURS_REPEATED,
  NET_SIGNS_LOST,
  SUN_UNSEEN,
  SUN_UNSEEN_ELSEWHERE,
  SUN_UNSEEN_NET,
  totalsDiffer,
  unreadRegister,
  wholeKwh,
} from '../words/placing.ts';

/** Findings that may withhold savings, with why. */
const WITHHELD: readonly (readonly [string, (data: never) => string])[] = [
  ['billed-differs', billedDiffers],
  ['totals-differ', totalsDiffer],
  ['energy-left-out', energyLeftOut],
  ['columns-beside', columnsBeside],
  ['register-missing', unreadRegister],
];
const EXCHANGED: ReadonlySet<string> = new Set(['grid-reversed', 'registers-exchanged']);

/** What leaves open how much energy the files hold, where something does. */
export function openEnergy(findings: readonly Finding[]): string | undefined {
  for (const [of, words] of WITHHELD) {
    const open = findings.find(({ code, data }) => code === of && data?.withheld === true);
    if (open !== undefined) return words(open.data as never);
  }
  const direction = openDirection(findings);
  if (direction !== undefined) return direction;
  const unseen = findings.find(isUnseen);
  if (unseen !== undefined) return unseen.data?.net === undefined ? SUN_UNSEEN : SUN_UNSEEN_NET;
  if (findings.some(({ code }) => code === 'net-signs-lost')) return NET_SIGNS_LOST;
  const whole = findings.find(({ code, data }) => code === 'whole-kwh' && data?.withheld === true);
  if (whole !== undefined) return wholeKwh(whole.data as unknown as Parameters<typeof wholeKwh>[0]);
  const isOpen = findings.some(({ code, data }) => code === 'hourly-in-quarters' && data?.settled === false);
  return isOpen ? HOURS_REPEATED : undefined;
}

/** What leaves open which of the energy was bought and when, where something does. */
export function openDirection(findings: readonly Finding[]): string | undefined {
  if (findings.some(({ code }) => code === 'clock-elsewhere')) return CLOCK_ELSEWHERE;
  // That all is read answers for the sun, not for the clock.
  const unseen = findings.find(({ code, data }) => code === 'sun-unseen' && data?.middleHour !== undefined);
  if (unseen !== undefined) return unseen.data?.stated === true ? CLOCK_ELSEWHERE : SUN_UNSEEN_ELSEWHERE;
  return findings.some(({ code, data }) => EXCHANGED.has(code) && data?.stated !== true) ? GRID_REVERSED : undefined;
}

/**
 * Whether panels seem to carry the home by day that no file tells of: then it uses more than what is read as its load, and hours of backup
 * reckoned from that are too long. That nothing is sold, as may be stated, says nothing of what it uses.
 */
export function isSunUnseen(findings: readonly Pick<Finding, 'code'>[]): boolean {
  return findings.some(({ code }) => code === 'sun-unseen');
}

function isUnseen({ code, data }: Finding): boolean {
  return code === 'sun-unseen' && data?.stated !== true;
}
