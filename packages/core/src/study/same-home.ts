import { sameAxis } from '../dispatch/inside.ts';
import { InputError, type InputIssue } from '../input/issue.ts';
import { sameData } from '../input/same-data.ts';
import type { Study } from '../site/index.ts';
import { quoteName } from '../words/quote.ts';

/** What of a site its bills rest on beside the data. */
const RESTS_ON = ['plant', 'backup', 'dispatch'] as const;

/**
 * Refuses studies that are set side by side and aren't of one home over one past: what differs between their bills would be
 * taken for what the tariff does. Names tell the rows apart, so that each tariff has its own.
 */
export function refuseOtherHomes(studies: readonly Study[]): void {
  const [today] = studies;
  const issues: InputIssue[] = [];
  for (const [k, study] of studies.entries()) {
    if (k === 0) continue;
    const what = differsIn(today!, study);
    if (what !== undefined)
      issues.push({
        code: what === 'axis' ? 'axis-differs' : 'home-differs',
        where: { path: ['choices', k] },
        received: `a study of another ${what} than that of the first`,
        expected: 'the same home and the same past, under another tariff',
        hint: 'make all of them of one site and its data: loadSite with `moreTariffs`, then studyOf(tariff) of each',
      });
    const named = studies.findIndex(({ tariff }) => tariff.name === study.tariff.name);
    if (named < k)
      issues.push({
        code: 'duplicate-name',
        where: { file: study.tariff.file, path: ['name'] },
        received: `${quoteName(study.tariff.name)}, the name of another tariff beside it`,
        expected: 'a name that no other tariff has: rows are told apart by it',
        hint: 'change "name" in one of the two files',
      });
  }
  if (issues.length > 0) throw new InputError(issues);
}

/** What the home of a study has otherwise than another's; undefined where it has nothing. */
function differsIn(one: Study, two: Study): string | undefined {
  const [a, b] = [one.home, two.home];
  if (!sameAxis(a.axis, b.axis)) return 'axis';
  // Where solar isn't metered, either end of what is possible may count under a tariff: what passed the meter is one.
  const ends = [one, two].every(({ warnings }) => warnings.some(({ code }) => code === 'solar-hidden'));
  const loads = ends
    ? sameNet(a.loadKwh, a.solarKwh, b.loadKwh, b.solarKwh) &&
      sameNet(a.loadKwh, one.meteredSolarKwh, b.loadKwh, two.meteredSolarKwh)
    : sameData([a.loadKwh, a.solarKwh, one.meteredSolarKwh], [b.loadKwh, b.solarKwh, two.meteredSolarKwh]);
  if (!loads) return 'load or solar';
  for (const part of RESTS_ON) if (!sameData(one.site[part], two.site[part])) return `\`${part}\` of the site`;
  // What is kept for an outage goes with the load behind the meter.
  const held = ends ? { floorKwh: 0, startKwh: 0 } : {};
  if (!sameData({ ...a.plant, ...held }, { ...b.plant, ...held })) return 'plant';
  if (!ends && !sameData(one.island, two.island)) return 'island';
  const limits = [one, two].map(({ siteService, home }) => [siteService, ends ? 0 : home.service.importLimitKw]);
  return sameData(limits[0], limits[1]) ? undefined : 'service';
}

/** Whether what was used less what was produced is the same, to rounding. */
function sameNet(load: Float64Array, solar: Float64Array, otherLoad: Float64Array, otherSolar: Float64Array): boolean {
  return load.every((kwh, i) => Math.abs(kwh - solar[i]! - (otherLoad[i]! - otherSolar[i]!)) <= 1e-9);
}
