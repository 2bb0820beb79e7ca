import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test, vi } from 'vitest';
import { blocksOf, documents, ROOT, withBodies } from './documents.ts';

const EXAMPLES = join(ROOT, 'docs/examples');
const shown = documents().filter((document) => blocksOf(document.text).some((block) => block.language === 'ts'));

const outputs = new Map<string, string>();

/** Runs an example, once (a module runs only once), and gives what it printed. */
async function outputOf(example: string): Promise<string> {
  const known = outputs.get(example);
  if (known !== undefined) return known;
  const printed: string[] = [];
  const log = vi.spyOn(console, 'log').mockImplementation((...parts) => void printed.push(parts.join(' ')));
  try {
    await import(join(EXAMPLES, example));
  } finally {
    log.mockRestore();
  }
  const output = printed.join('\n');
  outputs.set(example, output);
  return output;
}

test.each(shown.map(({ path, text }) => [path, text]))(
  '%s shows code that runs, and what it prints',
  async (path, text) => {
    const lines = text.split('\n');
    const blocks = blocksOf(text);
    const bodies: Parameters<typeof withBodies>[1][number][] = [];
    for (const [b, block] of blocks.entries()) {
      if (block.language !== 'ts') continue;
      const before = lines.slice(0, block.first - 1).findLast((line) => line !== '');
      const example = /^<!-- example (\S+) -->$/.exec(before ?? '')?.[1];
      if (example === undefined) throw new Error(`${path} line ${block.first}: code that no <!-- example … --> names`);
      bodies.push({ block, body: readFileSync(join(EXAMPLES, example), 'utf8').trimEnd() });
      const next = blocks[b + 1];
      if (next?.language === 'text') bodies.push({ block: next, body: await outputOf(example) });
    }
    await expect(withBodies(text, bodies)).toMatchFileSnapshot(join(ROOT, path));
  },
);

test('every example is shown in a document', () => {
  const all = shown.map((document) => document.text).join('\n');
  for (const name of readdirSync(EXAMPLES)) expect(all).toContain(`<!-- example ${name} -->`);
});
