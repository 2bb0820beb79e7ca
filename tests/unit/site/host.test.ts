import { readFileSync } from 'node:fs';
import { InputError, type InputIssue, type YamlDecoder } from '@duskbank/core/input';
import { loadSite, type ReadFile } from '@duskbank/core/site';
import { describe, expect, test } from 'vitest';

const fixture = (path: string) => readFileSync(`fixtures/demo/${path}`);

async function faultsOf(read: unknown, yaml?: unknown): Promise<readonly InputIssue[]> {
  try {
    await loadSite('site.json', read as ReadFile, yaml === undefined ? {} : { yaml: yaml as YamlDecoder });
  } catch (error) {
    if (error instanceof InputError) return error.issues;
    throw error;
  }
  return [];
}

describe('what the host hands over', () => {
  test('is taken as an ArrayBuffer too', async () => {
    const read: ReadFile = async (path) => Uint8Array.from(fixture(path)).buffer;
    const { case: home } = await loadSite('site.json', read);
    const { case: usual } = await loadSite('site.json', fixture);
    expect(home.loadKwh).toEqual(usual.loadKwh);
  });

  test.each([
    ['a text', (path: string) => fixture(path).toString(), 'wrong-type', /^a text of \d+ characters$/],
    ['nothing', () => undefined, 'missing', /^nothing$/],
    ['numbers', () => [123, 125], 'wrong-type', /^\[123,125\]$/],
    ['words of two bytes', () => new Uint16Array(3), 'wrong-type', /^a Uint16Array$/],
  ])('is refused as %s, with the file that it stands for', async (_, give, code, received) => {
    const only = (bad: string) => (path: string) => (path === bad ? give(path) : fixture(path));
    for (const file of ['site.json', 'tariff.json', 'home.csv']) {
      const [fault, ...more] = await faultsOf(only(file));
      expect(more).toEqual([]);
      expect([fault?.code, fault?.where.file]).toEqual([code, file]);
      expect(fault?.received).toMatch(received);
    }
  });

  test.each([
    ['null', () => null],
    ['a promise', async () => ({ value: {}, lineOf: () => 1 })],
    ['a value without its lines', () => ({ value: {} })],
  ])('is no YAML decoder where that gives %s', async (_, yaml) => {
    const read = (path: string) => (path === 'site.json' ? new TextEncoder().encode('format: x\n') : fixture(path));
    const faults = await faultsOf(read, yaml);
    expect(faults.map(({ code, where }) => [code, where.path])).toEqual([['wrong-type', ['yaml']]]);
    expect(faults[0]?.received).toContain('site.json');
  });
});
