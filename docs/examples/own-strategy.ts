import { readFileSync } from 'node:fs';
import { none, type Strategy, windowFill } from '@duskbank/core/dispatch';
import { loadSite } from '@duskbank/core/site';
import { compare } from '@duskbank/core/study';

/** Spends stored energy on-peak only, and buys at night after a day with little sun. */
const afterDullDays: Strategy = {
  name: 'after-dull-days',
  knowledge: 'causal',
  begin: ({ axis, plant, tariff, solarKwh }) => ({
    plan(from, _socKwh, levels) {
      const { day, days, minuteOfDay } = axis.calendar;
      const today = day[from]!;
      const to = days[today]!.firstInterval + days[today]!.intervals;

      let sunKwh = 0;
      const yesterday = days[today - 1];
      if (yesterday !== undefined) for (let i = yesterday.firstInterval; i < from; i++) sunKwh += solarKwh[i]!;
      const dull = yesterday !== undefined && sunKwh < plant.capacityKwh;

      for (let i = from; i < to; i++) {
        const peak = tariff.windows[tariff.window[i]!]!.kind === 'peak';
        // Infinity reads as "full": carry no load down from there, that is, none at all.
        levels.serveDownToKwh[i] = peak ? -Infinity : Infinity;
        levels.gridChargeToKwh[i] = dull && minuteOfDay[i]! < 5 * 60 ? Infinity : -Infinity;
      }
      return to; // the next decision is at midnight
    },
  }),
};

const { study } = await loadSite('fixtures/demo/site.json', (path) => readFileSync(path));
const report = compare(study, { strategies: [none, windowFill, afterDullDays] });
for (const row of report.strategies)
  console.log(row.strategy.padEnd(16), row.savings?.toFixed(2).padStart(7), Math.round(row.equivalentFullCycles));
