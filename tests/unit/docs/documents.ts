import { readdirSync, readFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';

/** The project's root folder. */
export const ROOT = fileURLToPath(new URL('../../..', import.meta.url));

/** A Markdown file of the project. */
export interface Document {
  /** From the root, with forward slashes. */
  readonly path: string;
  readonly text: string;
}

/** README and its kin at the root, and everything under docs, sorted by path. */
export function documents(): Document[] {
  const atRoot = readdirSync(ROOT).filter((name) => name.endsWith('.md'));
  const inDocs = readdirSync(join(ROOT, 'docs'), { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.md'))
    .map((name) => join('docs', name));
  return [...atRoot, ...inDocs]
    .map((path) => ({ path: relative('', path).replaceAll('\\', '/'), text: readFileSync(join(ROOT, path), 'utf8') }))
    .sort((a, b) => (a.path < b.path ? -1 : 1));
}

/** A fenced code block: its language, its lines, and where it stands in the document (line numbers from 0). */
export interface Block {
  readonly language: string;
  readonly body: string;
  /** First and last line of the body, end exclusive. */
  readonly first: number;
  readonly end: number;
}

/** The fenced code blocks of a document, in order. */
export function blocksOf(text: string): Block[] {
  const lines = text.split('\n');
  const blocks: Block[] = [];
  for (let i = 0; i < lines.length; i++) {
    const fence = /^```(\S*)/.exec(lines[i]!);
    if (fence === null) continue;
    let end = i + 1;
    while (end < lines.length && !lines[end]!.startsWith('```')) end++;
    blocks.push({ language: fence[1]!, body: lines.slice(i + 1, end).join('\n'), first: i + 1, end });
    i = end;
  }
  return blocks;
}

/** The document with the bodies of some blocks replaced. */
export function withBodies(text: string, replaced: readonly { block: Block; body: string }[]): string {
  const lines = text.split('\n');
  for (const { block, body } of [...replaced].sort((a, b) => b.block.first - a.block.first))
    lines.splice(block.first, block.end - block.first, ...body.split('\n'));
  return lines.join('\n');
}

/** The document with what stands between `<!-- name -->` and `<!-- /name -->` replaced. */
export function withMarked(text: string, name: string, content: string): string {
  const [begin, end] = [`<!-- ${name} -->`, `<!-- /${name} -->`];
  const from = text.indexOf(begin);
  const to = text.indexOf(end);
  if (from < 0 || to < from) throw new Error(`no ${begin} … ${end} in the document`);
  return `${text.slice(0, from + begin.length)}\n\n${content}\n\n${text.slice(to)}`;
}
