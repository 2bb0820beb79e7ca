// Kept answers: see tests/support/kept.ts. What a home comes to by which channels its file has, and which of them are 0 throughout.
import { loadSite } from '@duskbank/core/site';
import { expect, test } from 'vitest';
import { inOne, keptOf } from '../../support/kept.ts';
import { seedsFrom } from '../../support/kept-sites.ts';
import { generateSite, intervalCsv, retold } from '../../support/panel/index.ts';

const CHANNELS = ['importKwh', 'exportKwh', 'loadKwh', 'solarKwh'] as const;
/** Of a channel: it is there, it isn't, it is 0 throughout, it is larger than the others say. */
const STATES = ['there', 'absent', 'silent', 'larger'] as const;
const SITES = [31, 32].map((seed) => generateSite(seed, { home: { days: 8, stepMinutes: 60, solar: true } }));

/** States of the channels by a number: the last of them changes first. */
const statesOf = (k: number) =>
  CHANNELS.map((_, c) => STATES[Math.floor(k / STATES.length ** (3 - c)) % STATES.length]!);

async function homeOf(site: (typeof SITES)[number], k: number): Promise<string> {
  const states = statesOf(k);
  const columns = Object.fromEntries(
    CHANNELS.flatMap((channel, c) => {
      const kwh = site.home[channel];
      const times = { there: 1, absent: undefined, silent: 0, larger: 1.25 }[states[c]!];
      return times === undefined ? [] : [[channel, kwh.map((value) => value * times)]];
    }),
  );
  const { path, read } = retold(site, { files: { 'home.csv': intervalCsv(site.home, columns) } });
  const kept = await keptOf(async () => {
    const { study } = await loadSite(path, read);
    const { loadKwh, solarKwh } = study.home;
    return { loadKwh, solarKwh, known: study.loadKnown, warnings: study.warnings };
  }, 2);
  return inOne(states.join(' '), kept.split('\n'));
}

test.each(seedsFrom(0, 16))('channels of a home, %d', async (group) => {
  const told: string[] = [];
  for (const k of seedsFrom(16 * group, 16)) for (const site of SITES) told.push(await homeOf(site, k));
  expect(told.join('\n')).toMatchSnapshot();
});
