import { anAxis } from '../axis/inside.ts';
import {
  anything,
  bytes,
  flag,
  list,
  number,
  oneOf,
  optional,
  type Rule,
  record,
  series,
  text,
} from '../input/door.ts';
import { CHANNELS, type ChannelPart, type Finding, type IntervalSeries } from './series.ts';

const channel = optional(series({ least: 0, gaps: true }));

/** Metered series on an axis of their own: every channel as long as it, in kWh, NaN for a gap. */
export const meteredSeries: Rule = record<IntervalSeries>({
  axis: anAxis,
  importKwh: channel,
  exportKwh: channel,
  loadKwh: channel,
  solarKwh: channel,
  estimated: optional(bytes({ least: 0, most: 2 })),
  parts: optional(
    list(
      record<ChannelPart>({
        channel: oneOf(CHANNELS),
        register: text,
        name: text,
        counts: oneOf(['always', 'in-turn', 'any-time', 'unsaid']),
        point: optional(text),
        allListed: flag,
        alone: optional(flag),
        added: optional(flag),
        kwh: channel,
      }),
    ),
  ),
});

/** What a reader noticed. */
export const someFindings: Rule = list(
  record<Finding>({
    code: text,
    severity: oneOf(['error', 'warning', 'note']),
    where: anything,
    data: anything,
    message: text,
    quoted: optional(record({ cell: text, line: number() })),
    lines: optional(list(number())),
    count: optional(number()),
    energyKwh: optional(number()),
  }),
);
