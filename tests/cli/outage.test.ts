import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { circuitsReportSchema, outageReportSchema } from '@duskbank/core/study';
import { describe, expect, test } from 'vitest';
import { copyOf, cutHome, duskbank, tooWide, wholeRun } from './support.ts';

/** Changes the demo's site file in a copy of it. */
function siteWith(
  folder: string,
  change: (site: { backup: Record<string, unknown> & { circuits: object[] } }) => void,
) {
  const path = join(folder, 'site.json');
  const site = JSON.parse(readFileSync(path, 'utf8'));
  change(site);
  writeFileSync(path, JSON.stringify(site));
}

describe('outage of the demo home', () => {
  const folder = copyOf('demo');
  const args = ['outage', 'site.json'];
  const run = duskbank(args, folder);

  test('prints a report that fits a terminal of 80 columns', async () => {
    expect(run.status).toBe(0);
    expect(run.stderr).toBe('');
    expect(tooWide(run.stdout)).toEqual([]);
    await expect(wholeRun(args, run)).toMatchFileSnapshot('golden/outage-demo.txt');
  });

  test('is one page; --full adds what stands behind the answers', async () => {
    expect(run.stdout.trimEnd().split('\n').length).toBeLessThanOrEqual(60);
    const full = duskbank([...args, '--full'], folder);
    expect(tooWide(full.stdout)).toEqual([]);
    for (const words of ['By month', 'Played through', 'By length', 'Savings against hours', 'How often'])
      expect([run.stdout.includes(words), full.stdout.includes(words)], words).toEqual([false, true]);
    await expect(wholeRun([...args, '--full'], full)).toMatchFileSnapshot('golden/outage-demo-full.txt');
  });

  test('answers the two questions before anything else, weekday evenings before all hours', () => {
    const at = (text: string) => {
      expect(run.stdout).toContain(text);
      return run.stdout.indexOf(text);
    };
    const order = [
      at('Plan on'),
      at('How long do I have'),
      at('on the worst weekday evening'),
      at('on 9 of 10 weekday evenings'),
      at('What may I keep on?'),
      at('What does an hour more cost me a year?'),
      at('For the 8.0 h asked for in 9 of 10 outages in Jun, Jul, Aug'),
      at('Worst week, from'),
      at('Storm coming'),
      at('What is assumed'),
    ];
    expect(order).toEqual([...order].sort((a, b) => a - b));
    expect(run.stdout).toMatch(/USD [\d.]+ a\s+year for an hour/);
  });

  test('shows the cautions once each', () => {
    for (const words of ['neutral bonding', 'carbon monoxide', 'come back on with the power'])
      expect(run.stdout.replaceAll('\n  ', ' ').split(words)).toHaveLength(2);
  });

  test('--json prints one object with what the text says', () => {
    const json = duskbank([...args, '--json'], folder);
    expect(json.status).toBe(0);
    const report = JSON.parse(json.stdout);
    // The schema drops what it doesn't know, so that equality means: no key more, no key less.
    expect(outageReportSchema.parse(report)).toEqual(report);
    expect(report.format).toBe('duskbank.outage/1');
    expect(report.frontier.length).toBeGreaterThanOrEqual(11);
    expect(report.strategies.map((row: { strategy: string }) => row.strategy)).toContain(report.headline);
    for (const warning of report.warnings) expect(json.stderr).toContain(`warning: ${warning.message}\n`);
    // No figure that JSON can't hold has slipped in as null where a number belongs.
    for (const row of report.strategies) expect(row.hours.censoredShare).toBeTypeOf('number');
  });

  test('--strategy takes the answers from another strategy, and a wrong name is refused', () => {
    const short = copyOf('demo');
    cutHome(short);
    const other = duskbank([...args, '--strategy', 'hold'], short);
    expect(other.stdout).toContain('run as "hold"');
    const wrong = duskbank([...args, '--strategy', 'holt'], short);
    expect(wrong.status).toBe(2);
    expect(wrong.stderr).toContain('"holt"');
    expect(wrong.stdout).toBe('');
  });
});

describe('a home with a medical load', () => {
  const withMedical = () => {
    const folder = copyOf('demo');
    siteWith(folder, ({ backup }) => {
      backup.circuits.push({ name: 'Breathing machine', watts: 90, leg: 'L1', priority: 9, medical: true });
    });
    return folder;
  };
  const folder = withMedical();
  const short = withMedical();
  cutHome(short);

  test('outage begins with the caution and gives no chance of lasting', async () => {
    const args = ['outage', 'site.json', '--full'];
    const run = duskbank(args, folder);
    expect(run.status).toBe(0);
    expect(tooWide(run.stdout)).toEqual([]);
    const [opening] = run.stdout.split('\n\n');
    const caution = opening!.slice(opening!.indexOf('\n') + 1);
    expect(caution).toMatch(/^! Life-supporting equipment needs its own plan/);
    expect(caution.replaceAll('\n ', '')).toContain('list of homes with medical equipment');
    // No share of evenings or starts that last: the only shares are of capacity, and of what is kept back.
    for (const words of ['9 of 10 weekday', 'half of', 'evenings that', 'carried', 'at half', 'last over'])
      expect(run.stdout).not.toContain(words);
    expect(run.stdout).toContain('worst start, no sun, 80 % of capacity');
    expect(run.stdout).toMatch(/^Breathing machine/m);
    await expect(wholeRun(args, run)).toMatchFileSnapshot('golden/outage-medical.txt');
  });

  test('--json holds no chance either', () => {
    const report = JSON.parse(duskbank(['outage', 'site.json', '--json'], short).stdout);
    expect(report.cautions[0].code).toBe('medical');
    expect(outageReportSchema.parse(report)).toEqual(report);
    const text = JSON.stringify(report);
    for (const key of ['"probability"', '"censoredShare"', '"carriedShare"', '"p10"', '"median"'])
      expect(text).not.toContain(key);
  });

  test('circuits and compare carry the caution', () => {
    const circuits = duskbank(['circuits', 'site.json'], short).stdout;
    expect(circuits.split('\n\n')[1]).toMatch(/^! Life-supporting equipment/);
    const compare = JSON.parse(duskbank(['compare', 'site.json', '--json'], short).stdout);
    expect(compare.warnings[0].code).toBe('medical-load');
    for (const row of compare.strategies) expect(row.backupHours).toBeNull();
    const text = duskbank(['compare', 'site.json'], short).stdout;
    expect(text).toMatch(/^window .*withheld +withheld +withheld$/m);
    expect(text.indexOf('life-supporting')).toBeLessThan(text.indexOf('strategy  '));
  });
});

describe('a site that states everything', () => {
  const folder = copyOf('demo');
  siteWith(folder, ({ backup }) => {
    Object.assign(backup, {
      solarOnIsland: true,
      solarLimitKw: 4,
      atFull: 'trip',
      reconnectMinutes: 5,
      restartKwh: 0.3,
      cold: { limitC: 0, lowsC: [-8, -6, -2, 2, 7, 12, 15, 14, 9, 3, -3, -7] },
      margin: { fadeShare: 0.1, gaugeShare: 0.03 },
      transfer: { kind: 'manual', away: { from: '08:00', to: '17:00' } },
      reserve: {
        byMonth: [{ months: [12, 1, 2], share: 0.5 }],
        byHour: [{ from: '21:00', to: '06:00', share: 0.3 }],
        keepHours: 4,
        planned: [
          { from: '2025-03-11T08:00', to: '2025-03-11T15:00', noticeHours: 24 },
          { from: '2025-04-15T08:00', to: '2025-04-15T15:00', noticeHours: 24 },
          { from: '2025-05-20T08:00', to: '2025-05-20T15:00', noticeHours: 0.5 },
        ],
      },
    });
  });

  test('outage tells of each: margins, trips, planned outages, floors that move, who must be home', async () => {
    const args = ['outage', 'site.json', '--full'];
    const run = duskbank(args, folder);
    expect(run.status).toBe(0);
    expect(tooWide(run.stdout)).toEqual([]);
    const text = run.stdout.replaceAll(/\n */g, ' ');
    for (const words of [
      'its own solar running too',
      '10 % of capacity lost to age',
      'a gauge that may read 3 % too high',
      'solar that trips off a full battery',
      'notice is long enough',
      'kept full, unless used since the cold began',
      'no charging in Jan, Feb, Mar, Nov and Dec',
      'notice is too short to fill up',
      'What is held back to keep 4.0 h, without sun, does so on',
      '0 h while nobody is home',
      'no sun:',
    ])
      expect(text).toContain(words);
    await expect(wholeRun(args, run)).toMatchFileSnapshot('golden/outage-everything.txt');
  });
});

describe('circuits of the demo home', () => {
  const folder = copyOf('demo');
  const args = ['circuits', 'site.json'];

  test('prints together, alone, never, in 80 columns', async () => {
    const run = duskbank(args, folder);
    expect(run.status).toBe(0);
    expect(run.stderr).toBe('');
    expect(tooWide(run.stdout)).toEqual([]);
    expect(run.stdout).toContain('never a\n  permit document');
    await expect(wholeRun(args, run)).toMatchFileSnapshot('golden/circuits-demo.txt');
  });

  test('--json gives the same rows', () => {
    const report = JSON.parse(duskbank([...args, '--json'], folder).stdout);
    expect(circuitsReportSchema.parse(report)).toEqual(report);
    expect(report.format).toBe('duskbank.circuits/1');
    const verdicts = Object.fromEntries(
      report.circuits.map((row: { name: string; verdict: string }) => [row.name, row.verdict]),
    );
    expect(verdicts).toMatchObject({ Refrigerator: 'together', 'Clothes dryer': 'alone', 'Air conditioner': 'never' });
  });

  test('--appliances prints the starter list with its sources, without a site', () => {
    const run = duskbank(['circuits', '--appliances']);
    expect(run.status).toBe(0);
    expect(tooWide(run.stdout)).toEqual([]);
    expect(run.stdout).toContain('refrigerator');
    expect(run.stdout).toContain('70 to 100 A');
    expect(duskbank(['circuits']).status).toBe(2);
  });

  test('a shared neutral on one leg is a danger by name, before anything else', () => {
    const other = copyOf('demo');
    siteWith(other, ({ backup }) => {
      for (const circuit of backup.circuits as { name: string; leg: string }[])
        if (circuit.name === 'Kitchen, right counter') circuit.leg = 'L1';
    });
    const run = duskbank(args, other);
    expect(run.status).toBe(0);
    expect(run.stdout.split('\n\n')[1]).toMatch(/^! DANGER: "Kitchen, left counter" and "Kitchen, right counter"/);
    cutHome(other);
    expect(duskbank(['compare', 'site.json'], other).stdout).toContain('share a neutral');
  });

  test('circuits that contradict themselves are refused by name, one line each', () => {
    const other = copyOf('demo');
    siteWith(other, ({ backup }) => {
      backup.circuits.push(
        { name: 'Well pump', watts: 900, startKva: 0.2, leg: '240', priority: 1 },
        { name: 'Workshop', watts: 900, leg: 'L3', priority: 1 },
        { name: 'Range', watts: 8000, volts: 240, leg: 'L1', priority: 0 },
      );
    });
    const run = duskbank(args, other);
    expect(run.status).toBe(2);
    expect(run.stdout).toBe('');
    for (const name of ['Workshop', 'Range']) expect(run.stderr).toContain(`"${name}"`);
  });

  test('a 50 kW hair dryer is questioned by name', () => {
    const other = copyOf('demo');
    siteWith(other, ({ backup }) => {
      backup.circuits.push({ name: 'Hair dryer', watts: 50_000, leg: 'L2', priority: 7 });
    });
    const run = duskbank(args, other);
    expect(run.status).toBe(0);
    expect(run.stdout).toMatch(/\? "Hair dryer": 50,000 VA is more than/);
  });
});
