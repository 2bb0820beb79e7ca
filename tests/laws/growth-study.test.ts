import { readFileSync } from 'node:fs';
import { type LoadedSite, loadSite } from '@duskbank/core/site';
import { circuits, compare, outage } from '@duskbank/core/study';
import { describe, expect, test } from 'vitest';
import { parse } from 'yaml';
import { yaml } from '../../packages/cli/src/io/yaml.ts';

/**
 * A list of a site or tariff that is twice as long makes no answer take four times as long. Times are of the processor, the least
 * of two tries, so that a busy machine doesn't count.
 */

const read = (name: string) => readFileSync(`fixtures/small/${name}`);
const SITE = parse(read('site.yaml').toString('utf8'));
const TARIFF = parse(read('tariff.yaml').toString('utf8'));
const HOME = read('home.csv');

type Parts = { readonly site?: object; readonly tariff?: object };

const clock = (hour: number) => `${String(hour % 24).padStart(2, '0')}:00`;
const hourOf = (k: number) => new Date(Date.UTC(2025, 3, 1) + k * 3_600_000).toISOString().slice(0, 16);
const each = <T>(n: number, make: (k: number) => T) => Array.from({ length: n }, (_, k) => make(k));

const circuit = (k: number) => ({
  name: `c${k}`,
  watts: 20 + (k % 9) * 5,
  leg: k % 2 === 0 ? 'L1' : 'L2',
  priority: (k % 99) + 1,
});

/** A list, the most entries that it may have, and the files with so many. */
const LISTS: readonly (readonly [name: string, most: number, make: (n: number) => Parts])[] = [
  [
    'demand charges on one peak',
    20,
    (n) => ({ tariff: { demand: each(n, (k) => ({ name: `d${k}`, pricePerKw: 3 + k / 10 })) } }),
  ],
  [
    'demand charges at different hours',
    20,
    (n) => ({
      tariff: {
        demand: each(n, (k) => ({ name: `d${k}`, pricePerKw: 3 + k / 10, from: clock(k + 1), to: clock(k + 3) })),
      },
    }),
  ],
  [
    'demand charges at hours that overlap',
    20,
    (n) => ({
      tariff: {
        demand: each(n, (k) => ({ name: `d${k}`, pricePerKw: 3 + k / 10, from: '06:00', to: clock(7 + (k % 16)) })),
      },
    }),
  ],
  [
    'windows of a day',
    24,
    (n) => ({
      tariff: {
        windows: each(n, (k) => ({
          name: `w${k}`,
          from: clock(Math.floor((24 * k) / n)),
          to: clock(Math.floor((24 * (k + 1)) / n)),
          pricePerKwh: 0.2 + ((k * 7) % 11) / 50,
        })),
      },
    }),
  ],
  [
    'blocks',
    20,
    (n) => ({
      tariff: {
        windows: [
          {
            name: 'all',
            otherwise: true,
            blocks: [
              ...each(n - 1, (k) => ({ upToKwh: 10 * (k + 1), pricePerKwh: 0.2 + k / 100 })),
              { pricePerKwh: 0.6 },
            ],
          },
        ],
      },
    }),
  ],
  [
    'classes of power',
    50,
    (n) => ({
      tariff: {
        demand: [
          {
            name: 'class',
            steps: [...each(n - 1, (k) => ({ upToKw: (k + 1) / 10, amount: 2 + k })), { amount: 3 + n }],
          },
        ],
      },
    }),
  ],
  ['riders', 40, (n) => ({ tariff: { energy: each(n, (k) => ({ name: `r${k}`, pricePerKwh: 0.001 * (k + 1) })) } })],
  [
    'events',
    48,
    (n) => ({
      tariff: {
        events: each(n, (k) => ({
          name: `e${k}`,
          dates: [hourOf(24 * (k % 18)).slice(0, 10)],
          from: clock(Math.floor(k / 18) * 4 + 8),
          to: clock(Math.floor(k / 18) * 4 + 10),
          pricePerKwh: 1,
        })),
      },
    }),
  ],
  [
    'planned outages',
    48,
    (n) => ({
      site: {
        backup: {
          ...SITE.backup,
          reserve: {
            planned: each(n, (k) => ({ from: hourOf(9 * k + 9), to: hourOf(9 * k + 12), noticeHours: 5 + (k % 40) })),
          },
        },
      },
    }),
  ],
  [
    'floors by hour',
    24,
    (n) => ({
      site: {
        backup: {
          ...SITE.backup,
          reserve: { byHour: each(n, (k) => ({ from: clock(k), to: clock(k + 1), share: 0.25 + (k % 5) / 20 })) },
        },
      },
    }),
  ],
  [
    'circuits with hours and months of their own',
    200,
    (n) => ({
      site: {
        backup: {
          circuits: each(n, (k) => ({
            ...circuit(k),
            hours: { from: `${clock(k).slice(0, 3)}${10 + (k % 50)}`, to: clock(k + 9) },
            months: [1 + (k % 12), 1 + ((k + 3) % 12)],
          })),
        },
      },
    }),
  ],
  [
    'circuits',
    200,
    (n) => ({
      site: {
        backup: {
          circuits: each(n, (k) => ({ ...circuit(k), dutyShare: 0.3, breakerAmps: 15 })),
        },
      },
    }),
  ],
];

const ANSWERS: readonly (readonly [string, (home: LoadedSite) => unknown])[] = [
  ['compare', (home) => compare(home.study)],
  ['outage', (home) => outage(home.study)],
  ['circuits', (home) => (home.site.backup?.circuits === undefined ? undefined : circuits(home.study))],
];

async function homeWith({ site, tariff }: Parts): Promise<LoadedSite> {
  const files: Record<string, Uint8Array> = {
    'site.yaml': Buffer.from(JSON.stringify({ ...SITE, ...site })),
    'tariff.yaml': Buffer.from(JSON.stringify({ ...TARIFF, ...tariff })),
    'home.csv': HOME,
  };
  return loadSite('site.yaml', async (path) => files[path]!, { yaml });
}

/** Processor time of one answer, ms: the least of two tries, the first of which warms the engine up. */
function cpuMs(home: LoadedSite, answer: (home: LoadedSite) => unknown): number {
  let least = Number.POSITIVE_INFINITY;
  for (let k = 0; k < 2; k++) {
    const before = process.cpuUsage();
    answer(home);
    const { user, system } = process.cpuUsage(before);
    least = Math.min(least, (user + system) / 1000);
  }
  return least;
}

/** Below this no growth can be told from noise, ms. */
const FLOOR_MS = 20;

describe.each(LISTS)('twice as many %s take at most three times as long', (_, most, make) => {
  test.each(ANSWERS)('%s', async (_, answer) => {
    const homes = await Promise.all([most / 4, most / 2, most].map((n) => homeWith(make(n))));
    const ms = homes.map((home) => Math.max(FLOOR_MS, cpuMs(home, answer)));
    expect(ms[2]! / ms[0]!, ms.map((value) => value.toFixed(1)).join(', ')).toBeLessThanOrEqual(9);
  });
});
