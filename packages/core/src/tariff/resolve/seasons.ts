import { quoteName } from '../../words/quote.ts';
import { ALL_SEASONS, type DayKind, HOLIDAY_KIND } from '../hours.ts';
import { asList } from '../vocabulary.ts';
import type { Faults, Path } from './faults.ts';
import type { Element, RatesDocument, Seasons, Version } from './version.ts';

const MONTH_DAYS = [31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
/** Room for each day of the year at `month · 32 + day`. */
const DAYS_LENGTH = 13 * 32;
const NO_SEASON = 255;

/** The seasons of a version: each day of the year has to lie in exactly one. */
export function resolveSeasons(seasons: RatesDocument['seasons'], path: Path, faults: Faults): Seasons {
  const ofDay = new Uint8Array(DAYS_LENGTH);
  if (seasons === undefined) return { names: ['all year'], ofDay };
  ofDay.fill(NO_SEASON);
  const names = [...new Set(seasons.map((s) => s.name))];
  const owner = new Int16Array(DAYS_LENGTH).fill(-1);
  let wrong = false;
  for (const [k, season] of seasons.entries()) {
    if (!formIsRight(season, [...path, k], faults)) {
      wrong = true;
      continue;
    }
    const months = season.months === undefined ? undefined : asList(season.months);
    const from = season.from === undefined ? 0 : Number(season.from.slice(0, 2)) * 32 + Number(season.from.slice(3));
    let to = season.to === undefined ? 0 : Number(season.to.slice(0, 2)) * 32 + Number(season.to.slice(3));
    // A season that ends on 28 February ends on the 29th in leap years.
    if (season.to === '02-28') to++;
    for (let month = 1; month <= 12; month++)
      for (let day = 1; day <= MONTH_DAYS[month - 1]!; day++) {
        const at = month * 32 + day;
        const inside =
          months !== undefined ? months.includes(month) : from <= to ? at >= from && at <= to : at >= from || at <= to;
        if (!inside) continue;
        if (owner[at]! >= 0 && owner[at] !== k && !wrong) {
          wrong = true;
          faults.addWords(
            'season-overlap',
            [...path, k, months === undefined ? 'from' : 'months'],
            `${quoteName(season.name)} over ${quoteName(seasons[owner[at]!]!.name)} on ${monthDay(at)}`,
            'each day of the year in exactly one season',
            'move an edge',
          );
        }
        owner[at] = k;
        ofDay[at] = names.indexOf(season.name);
      }
  }
  if (!wrong)
    for (let month = 1; month <= 12; month++)
      for (let day = 1; day <= MONTH_DAYS[month - 1]!; day++)
        if (ofDay[month * 32 + day] === NO_SEASON) {
          faults.addWords(
            'season-missing',
            path,
            `no season for ${monthDay(month * 32 + day)}`,
            'each day of the year in exactly one season',
            'widen a season, or add one',
          );
          return { names, ofDay };
        }
  return { names, ofDay };
}

/** Whether a season states its days in one way, and wholly. */
function formIsRight(season: Element<'seasons'>[number], path: Path, faults: Faults): boolean {
  const hasDates = season.from !== undefined || season.to !== undefined;
  const both = hasDates && season.months !== undefined;
  const neither = !hasDates && season.months === undefined;
  const half = hasDates && (season.from === undefined || season.to === undefined);
  if (!both && !neither && !half) return true;
  const key = both ? 'months' : season.from === undefined ? 'from' : 'to';
  faults.add(
    both ? 'not-together' : 'missing',
    [...path, key],
    season[key],
    'either "from" and "to", or "months"',
    both ? 'remove one of them' : `add ${quoteName(key)}`,
  );
  return false;
}

function monthDay(at: number): string {
  return `${String(at >> 5).padStart(2, '0')}-${String(at & 31).padStart(2, '0')}`;
}

/** The mask of the seasons that an element names; of all where it names none. */
export function seasonMask(version: Version, names: string | readonly string[] | undefined, path: Path): number {
  const list = asList(names);
  if (list.length === 0) return ALL_SEASONS;
  const known = version.document.seasons === undefined ? [] : version.seasons.names;
  let mask = 0;
  for (const [k, name] of list.entries()) {
    const s = known.indexOf(name);
    if (s >= 0) mask |= 1 << s;
    else {
      const at = Array.isArray(names) ? [...path, 'seasons', k] : [...path, 'seasons'];
      version.faults.unknownName('unknown-season', at, name, known, 'season');
    }
  }
  return mask;
}

/** The kinds of days that a tariff must have hours for. */
export function dayKinds({ names, ofDay }: Seasons, hasHolidays: boolean): DayKind[] {
  const kinds: DayKind[] = [];
  const seen = new Set<number>();
  for (let month = 1; month <= 12; month++)
    for (let day = 1; day <= 31; day++) {
      const season = ofDay[month * 32 + day]!;
      if (season >= names.length || seen.has(month * 32 + season)) continue;
      seen.add(month * 32 + season);
      for (let kind = 0; kind <= (hasHolidays ? HOLIDAY_KIND : 6); kind++) {
        kinds.push({ season, month, kind, before: (kind + 6) % 7 });
        if (hasHolidays) kinds.push({ season, month, kind, before: kind === HOLIDAY_KIND ? 0 : HOLIDAY_KIND });
      }
    }
  return kinds;
}
