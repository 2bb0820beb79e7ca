import type * as z from 'zod';
import { type Axis, dateOfCivilDay, formatDate } from '../axis/index.ts';
import { publishedReliability } from '../outage/inside.ts';
import type { Assumption, Origin, Study } from '../site/index.ts';
import type { Tariff } from '../tariff/index.ts';
import { VERSION } from '../version.ts';
import { startDay } from './payback.ts';
import type { DeepReadonly, provenanceSchema } from './report-parts-schema.ts';

/** What a report rests on: see {@link provenanceSchema}. */
export type Provenance = DeepReadonly<z.output<typeof provenanceSchema>>;

/** The tariff of a report, and the civil days that its versions are asked for. */
export interface TariffInTime {
  readonly tariff: Tariff;
  readonly firstDay: number;
  readonly lastDay: number;
}

/** A tariff over the days of an axis. */
export function tariffOver(tariff: Tariff, { calendar: { days } }: Axis): TariffInTime {
  return { tariff, firstDay: days[0]!.civilDay, lastDay: days[days.length - 1]!.civilDay };
}

/** What a report rests on. */
export function provenanceOf(origin: Origin | undefined, inTime?: TariffInTime): Provenance {
  return {
    version: VERSION,
    tariffs: inTime === undefined ? [] : [{ name: inTime.tariff.name, versions: versionsIn(inTime) }],
    inputs: origin?.inputs ?? [],
    assumptions: origin?.assumptions ?? [],
  };
}

/** What a report rests on that is made of several: everything of each, once. */
export function provenanceOfAll(parts: readonly Provenance[]): Provenance {
  const once = <Item>(items: readonly Item[]) => [
    ...new Map(items.map((item) => [JSON.stringify(item), item])).values(),
  ];
  return {
    version: VERSION,
    tariffs: once(parts.flatMap((part) => part.tariffs)),
    inputs: once(parts.flatMap((part) => part.inputs)),
    assumptions: once(parts.flatMap((part) => part.assumptions)),
  };
}

/** The versions that hold at some time from the first day to the last. */
function versionsIn({ tariff, firstDay, lastDay }: TariffInTime): Provenance['tariffs'][number]['versions'] {
  const { versions } = tariff;
  return versions
    .filter((rates, v) => rates.fromDay <= lastDay && (versions[v + 1]?.fromDay ?? Number.POSITIVE_INFINITY) > firstDay)
    .map(({ fromDay, note }) => ({
      from: Number.isFinite(fromDay) ? formatDate(dateOfCivilDay(fromDay)) : null,
      ...(note === undefined ? {} : { note }),
    }));
}

/** What nothing is taken for where the home has no battery. */
const OF_A_BATTERY: readonly string[] = ['plant.startShare', 'backup.load', 'backup.solarOnIsland', 'backup.transfer'];

/** A study's origin, with what the study itself takes where the site leaves it out and no schema fills it in. */
export function studyOrigin(study: Study): Origin {
  const { site, island } = study;
  const { plant } = study.home;
  const { backup } = site;
  const taken: (readonly [field: string, stated: unknown, value: unknown])[] = [
    ['startsOn', site.startsOn, formatDate(dateOfCivilDay(startDay(study)))],
    ['plant.startShare', site.plant?.startShare, plant.startKwh / plant.capacityKwh],
    ['service.importLimitKw', site.service?.importLimitKw, null],
    ['service.exportLimitKw', site.service?.exportLimitKw, null],
    ['backup.load', backup?.load ?? backup?.circuits, island.basis],
    ['backup.solarOnIsland', backup?.solarOnIsland, plant.coupling === 'dc'],
    ['backup.transfer', backup?.transfer, 'changed over by hand'],
    ['backup.reliability', backup?.reliability, publishedReliability(site.zone)?.source ?? null],
  ];
  const assumptions = taken
    .filter(([field, stated]) => stated === undefined && !(site.plant === undefined && OF_A_BATTERY.includes(field)))
    .map(([field, , value]): Assumption => ({ file: 'site', field, value }));
  return { inputs: study.origin?.inputs ?? [], assumptions: [...(study.origin?.assumptions ?? []), ...assumptions] };
}
