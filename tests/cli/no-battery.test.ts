import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { backupNeedsReportSchema, tariffChoiceReportSchema } from '@duskbank/core/study';
import { describe, expect, test } from 'vitest';
import { copyOf, duskbank, ROOT, tooWide, wholeRun } from './support.ts';

describe('the demo home before it has a battery', () => {
  const folder = copyOf('demo');
  const { plant: _, ...bare } = JSON.parse(readFileSync(join(folder, 'site.json'), 'utf8'));
  writeFileSync(join(folder, 'site.json'), JSON.stringify(bare));
  const flat = JSON.parse(readFileSync(join(ROOT, 'fixtures/tariffs/flat.json'), 'utf8'));
  writeFileSync(join(folder, 'flat.json'), JSON.stringify(flat));

  test.each([
    ['no-battery-compare', ['compare', 'site.json', '--tariff', 'flat.json']],
    ['no-battery-outage', ['outage', 'site.json']],
    ['no-battery-check', ['check', 'site.json']],
  ])('%s', async (name, args) => {
    const run = duskbank(args, folder);
    expect(run).toMatchObject({ status: 0, stderr: '' });
    expect(tooWide(run.stdout)).toEqual([]);
    await expect(wholeRun(args, run)).toMatchFileSnapshot(`golden/${name}.txt`);
  });

  test('circuits tells what outage tells, and JSON is what the schemas say', () => {
    const read = (args: string[]) => JSON.parse(duskbank([...args, '--json'], folder).stdout);
    const needs = read(['outage', 'site.json']);
    expect(backupNeedsReportSchema.parse(needs)).toEqual(needs);
    expect(read(['circuits', 'site.json'])).toEqual(needs);
    const choice = read(['compare', 'site.json', '--tariff', 'flat.json']);
    expect(tariffChoiceReportSchema.parse(choice)).toEqual(choice);
  });

  test.each([
    [['settings', 'site.json']],
    [['compare', 'site.json']],
    [['explain', 'site.json', '--at', '2025-07-15T18:00']],
    [['outage', 'site.json', '--strategy', 'hold']],
    [['compare', 'site.json', '--tariff', 'flat.json', '--csv']],
  ])('%j is refused, and says what is needed', (args) => {
    const run = duskbank(args, folder);
    expect(run).toMatchObject({ status: 2, stdout: '' });
    expect(run.stderr).toMatch(/"plant"/);
  });
});
