import { type LoadedSite, loadSite } from '@duskbank/core/site';
import { expect, test } from 'vitest';
import { yaml } from '../../packages/cli/src/io/yaml.ts';
import { type Case, filesOf } from './bad-input/case.ts';
import { keptOf } from './kept.ts';

/** Longer files are tried by tests of their own. */
const LONGEST = 500_000;

/** Keeps how inputs are refused, in whole sentences: all that files in memory can hold. */
export function keepRefusals(cases: readonly Case[]): void {
  test.each(cases.filter(isQuick).map((entry) => [entry.name, entry] as const))('%s', async (_name, entry) => {
    const files = filesOf(entry);
    const read = (path: string) => {
      const content = files[path];
      if (content === undefined) throw Object.assign(new Error('none'), { code: 'ENOENT' });
      return typeof content === 'string' ? new TextEncoder().encode(content) : content;
    };
    const told = await keptOf(async () => factsOf(await loadSite('site.json', read, { yaml })), 0);
    expect(told).toMatchSnapshot();
  });
}

const isQuick = (entry: Case) =>
  entry.prepare === undefined && Object.values(filesOf(entry)).every((file) => file.length < LONGEST);

const factsOf = ({ facts }: LoadedSite) => facts;
