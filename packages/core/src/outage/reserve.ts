import type { Axis } from '../axis/index.ts';
import { anAxis } from '../axis/inside.ts';
import { bytes, check, list, number, optional, series } from '../input/door.ts';
import type { Plant } from '../plant/index.ts';
import { aPlant } from '../plant/inside.ts';
import { type ReserveSummary, summarizeReserve } from './summary.ts';

/** Reserve that a strategy leaves in one kind of situation; absent where the axis has none of it. */
export interface ReserveBySituation {
  readonly allHours: ReserveSummary;
  /** At the end of each on-peak window: when a battery that works for the bill is emptiest. */
  readonly endOfPeak?: ReserveSummary;
  /** At the end of each event that the tariff calls. */
  readonly eventNights?: ReserveSummary;
  /** In the months in which long outages are likely. */
  readonly stormSeason?: ReserveSummary;
}

const mask = bytes({ least: 0, most: 1 });

/** What {@link reserveBySituation} needs. */
export interface ReserveOptions {
  readonly axis: Axis;
  readonly plant: Plant;
  readonly socKwh: Float64Array;
  /** 1 in on-peak intervals. */
  readonly peakSteps: Uint8Array;
  /** 1 in intervals of a called event. */
  readonly eventSteps?: Uint8Array;
  readonly stormMonths?: readonly number[];
}

/**
 * Energy deliverable to loads, by situation: a reserve that is there at noon and gone at nine is none.
 * @throws InputError on series of another length, and energy above the plant's capacity
 */
export function reserveBySituation(options: ReserveOptions): ReserveBySituation {
  check(options, {
    axis: anAxis,
    plant: aPlant,
    socKwh: series({ least: -1e-9 }),
    peakSteps: mask,
    eventSteps: optional(mask),
    stormMonths: optional(list(number({ whole: true, least: 1, most: 12 }))),
  });
  const { axis, plant, socKwh, peakSteps, eventSteps, stormMonths } = options;
  const { month } = axis.calendar;
  const summary = (include: (i: number) => boolean): ReserveSummary | undefined => {
    const picked = socKwh.filter((_, i) => include(i));
    return picked.length > 0 ? summarizeReserve(plant, picked) : undefined;
  };
  const ends = (steps: Uint8Array) => (i: number) => steps[i] === 1 && steps[i + 1] !== 1;
  return {
    allHours: summarizeReserve(plant, socKwh),
    endOfPeak: summary(ends(peakSteps)),
    eventNights: eventSteps === undefined ? undefined : summary(ends(eventSteps)),
    stormSeason: stormMonths === undefined ? undefined : summary((i) => stormMonths.includes(month[i]!)),
  };
}
