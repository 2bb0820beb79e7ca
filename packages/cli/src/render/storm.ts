import type { OutageReport } from '@duskbank/core/study';
import { hours, hoursAtMost, isDark, sharePercent } from './numbers.ts';
import { quoteNames } from './text.ts';

export const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];

/** `Jun, Jul, Aug` */
export function monthList(months: readonly number[]): string {
  return months.map((month) => MONTHS[month - 1]).join(', ');
}

/** What to set before a storm, how long filling takes, and what it then carries; `told`: whether the page says what `*` stands for. */
export function stormLine(
  storm: Pick<
    NonNullable<OutageReport['storm']>,
    'fillHours' | 'hours' | 'planningHours' | 'months' | 'unseenMonths' | 'tooColdMonths' | 'cold' | 'unattendedShare'
  > & { readonly duty: Pick<NonNullable<NonNullable<OutageReport['storm']>['duty']>, 'circuits'> | null },
  carried: string,
  cap: number,
  told = false,
): string {
  const fill =
    storm.fillHours === null
      ? 'only sun can fill it, so set it days before'
      : storm.fillHours < 0.05
        ? 'it is full already'
        : `full after ${hoursAtMost(storm.fillHours)} at most`;
  const { cold, unseenMonths: unseen = [] } = storm;
  const filled = storm.months?.filter((month) => !cold?.months.includes(month)) ?? null;
  const counted = filled?.filter((month) => !unseen.includes(month)) ?? null;
  const season =
    filled === null
      ? cold === undefined
        ? 'outages'
        : 'outages of the other months'
      : `outages in ${monthList(counted!)}`;
  const atWorst = isDark(storm.planningHours)
    ? 'not at all at the worst, where more is drawn than the battery gives'
    : `${hours(storm.planningHours, cap)} at the worst (no sun, 80 % of capacity)`;
  const working = storm.duty === null ? '' : `, ${workingWords(storm.duty.circuits, told)},`;
  const load = `${carried === '' ? ' the backed-up load' : carried}${working}`;
  const frozen = cold === undefined ? '' : coldWords(cold, load, working, cap);
  // Nowhere in the storm months can it be filled.
  if (filled !== null && filled.length === 0) return `Storm coming: ${frozen}`;
  const notKnown = filled?.filter((month) => unseen.includes(month)) ?? [];
  const unknown =
    notKnown.length === 0 ? '' : `How long it lasts in ${monthList(notKnown)} isn’t known: the data hold none of that.`;
  const carries =
    counted?.length === 0
      ? ''
      : storm.hours === null
        ? `It then carries${load} ${isDark(storm.planningHours) ? '' : 'for '}${atWorst}.`
        : isDark(storm.hours)
          ? `Even so${working} one of 10 ${season} or more is dark at once: more is drawn than the battery gives.`
          : `It then carries${load} for ${hours(storm.hours, cap)} or more in 9 of 10 ${season}${withSomebodyHome(storm)}, ${atWorst}.`;
  const parts = [
    `Storm coming: hold back 100 % the day before; ${fill}.`,
    carries,
    unknown,
    frozen === '' ? '' : `But ${frozen}`,
  ];
  return parts.filter((part) => part !== '').join(' ');
}

/** `"Sump pump" and "Well pump"` */
export function circuitNames(circuits: readonly { readonly circuit: string }[]): string {
  return quoteNames(
    circuits.map(({ circuit }) => circuit),
    ' and ',
  );
}

/** `with "Sump pump" hard at work (40 % of the time)`, or `*` where the page has told of the share. */
function workingWords(
  circuits: readonly { readonly circuit: string; readonly share: number }[],
  told: boolean,
): string {
  const names = circuitNames(circuits);
  if (told) return `with ${names} hard at work *`;
  const shares = circuits.map(({ share }) => sharePercent(share)).join(' and ');
  return `with ${names} hard at work (${shares} of the time)`;
}

/** Which outages hours hold for, where the home is changed over by hand and nobody may be there. */
function withSomebodyHome(storm: { readonly unattendedShare: number | null }): string {
  return storm.unattendedShare === null ? '' : ' that find somebody home';
}

/** `outages in Jun, Jul`, of the storm months that the data hold; what was counted where they hold none. */
export function stormSeason(storm: OutageReport['storm']): string {
  if (storm === null) return 'of all starts of the data';
  const home = withSomebodyHome(storm);
  if (storm.months === null) return `of all starts of the data${home}`;
  const unseen = storm.unseenMonths ?? [];
  const counted = storm.months.filter((month) => !unseen.includes(month));
  if (unseen.length === 0) return `outages in ${monthList(counted)}${home}`;
  const missing = `the data hold no ${monthList(unseen)}`;
  return counted.length === 0
    ? `of all starts of the data${home} (${missing})`
    : `outages in ${monthList(counted)}${home} (${missing})`;
}

/** What is left where the cells are too cold to be filled, and what to do about it. */
function coldWords(
  { months, hours: left, held }: NonNullable<NonNullable<OutageReport['storm']>['cold']>,
  load: string,
  working: string,
  cap: number,
) {
  const lasts =
    left === null
      ? ''
      : isDark(left)
        ? `, and with that${working} one of 10 outages or more is dark at once`
        : `, which carries${load} for ${hours(left, cap)} or more in 9 of 10 outages`;
  return `in ${monthList(months)} it can’t be filled: the cells are too cold to charge. It then has what was kept before, ${held ? 'all of it as it is run' : 'the reserve at the least'}${lasts}. ${held ? HELD_ON : COLD_CURE}`;
}

/** Where it is full through the cold already. */
const HELD_ON = 'What an outage takes doesn’t come back until the cold is over.';

/** What can be done about cells that are too cold to charge. */
export const COLD_CURE =
  'Fill it before the cold comes and hold 100 % through it, or ask the installer about heating or a warmer place.';
