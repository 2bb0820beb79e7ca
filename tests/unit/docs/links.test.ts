import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { dirname, join, normalize } from 'node:path';
import { expect, test } from 'vitest';
import { documents, ROOT } from './documents.ts';
import { anchorOf } from './field-tables.ts';

const all = documents();

/** The text without code, where brackets aren't links. */
function prose(text: string): string {
  return text.replace(/^```[\s\S]*?^```/gm, '').replace(/(?<!\[)`[^`\n]*`(?!\])/g, '');
}

function anchorsOf(text: string): string[] {
  return [...text.replace(/^```[\s\S]*?^```/gm, '').matchAll(/^#+ (.*)$/gm)].map((heading) => anchorOf(heading[1]!));
}

test.each(all.map(({ path, text }) => [path, text]))('every link in %s leads somewhere', (path, text) => {
  const broken: string[] = [];
  for (const [, target] of prose(text).matchAll(/\]\(([^)\s]+)\)/g)) {
    if (/^[a-z]+:/.test(target!)) continue;
    const [file, anchor] = target!.split('#');
    const to = file === '' ? path : normalize(join(dirname(path), file!)).replaceAll('\\', '/');
    if (!existsSync(join(ROOT, to))) broken.push(target!);
    else if (anchor !== undefined && !anchorsOf(readFileSync(join(ROOT, to), 'utf8')).includes(anchor))
      broken.push(target!);
  }
  expect(broken).toEqual([]);
});

test('docs/README.md lists every document, and docs/decisions/README.md every decision', () => {
  const missing: string[] = [];
  for (const { path } of all) {
    if (!path.startsWith('docs/') || path === 'docs/README.md') continue;
    const folder = /^docs\/decisions\/(?!README)/.test(path) ? 'docs/decisions/' : 'docs/';
    const index = all.find((document) => document.path === `${folder}README.md`)!.text;
    if (!index.includes(`](${path.slice(folder.length)})`)) missing.push(path);
  }
  expect(missing).toEqual([]);
});

test('a page, and its heading, that code names in docs exists', () => {
  const broken: string[] = [];
  const sources = readdirSync(join(ROOT, 'packages'), { recursive: true, encoding: 'utf8' }).filter((name) =>
    /^[a-z]+[\\/]src[\\/].*\.ts$/.test(name),
  );
  expect(sources.length).toBeGreaterThan(50);
  for (const name of sources) {
    const text = readFileSync(join(ROOT, 'packages', name), 'utf8');
    for (const [, file, heading] of text.matchAll(/\b(docs\/[\w/-]+\.md)(?:, "([^"]+)")?/g)) {
      if (!existsSync(join(ROOT, file!))) {
        broken.push(`${name}: ${file}`);
      } else if (
        heading !== undefined &&
        !anchorsOf(readFileSync(join(ROOT, file!), 'utf8')).includes(anchorOf(heading))
      )
        broken.push(`${name}: ${file}, "${heading}"`);
    }
  }
  expect(broken).toEqual([]);
});
