import { makeAxis } from '@duskbank/core/axis';
import { CHANNELS, channelField, type IntervalSeries } from '@duskbank/core/meter';
import fc from 'fast-check';

const zones = ['America/Denver', 'Europe/London', 'Australia/Lord_Howe', 'Asia/Kolkata', 'America/Sao_Paulo', 'UTC'];
/** kWh of any size, and gaps. */
const value = fc.oneof(
  { weight: 9, arbitrary: fc.double({ min: 0, max: 1000, noNaN: true }) },
  { weight: 1, arbitrary: fc.constant(Number.NaN) },
);

/** Series of any zone, step, start and channels, with gaps and marks. */
export const anySeries: fc.Arbitrary<IntervalSeries> = fc
  .record({
    zone: fc.constantFrom(...zones),
    stepMinutes: fc.constantFrom(5, 10, 15, 20, 30, 60),
    startMinute: fc.integer({ min: 27_000_000, max: 30_000_000 }),
    intervals: fc.integer({ min: 1, max: 400 }),
    channels: fc.uniqueArray(fc.constantFrom(...CHANNELS), { minLength: 1 }),
    marked: fc.boolean(),
  })
  .chain(({ zone, stepMinutes, startMinute, intervals, channels, marked }) =>
    fc
      .record({
        values: fc.array(fc.array(value, { minLength: intervals, maxLength: intervals }), {
          minLength: channels.length,
          maxLength: channels.length,
        }),
        marks: fc.array(fc.integer({ min: 0, max: 2 }), { minLength: intervals, maxLength: intervals }),
      })
      .map(({ values, marks }) => ({
        axis: makeAxis({ startEpochMs: startMinute * 60_000, stepMinutes, intervals, zone }),
        ...Object.fromEntries(
          channels.map((channel, c) => [channelField(channel), Float64Array.from(values[c]!, (v) => v + 0)]),
        ),
        ...(marked ? { estimated: Uint8Array.from(marks) } : {}),
      })),
  );
