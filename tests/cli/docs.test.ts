import { spawnSync } from 'node:child_process';
import { cpSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { type Block, blocksOf, documents, ROOT, withBodies } from '../unit/docs/documents.ts';

// Every `console` block in the documents is run against the built command line, block after block in one folder that
// holds the fixtures, and must print what the document shows. A line `…` stands for any lines left out.
// Where a result changed for a reason: `npx --yes pnpm@12.4.2 run docs` writes the documents anew.
const shown = documents().filter((document) => blocksOf(document.text).some((block) => block.language === 'console'));

interface Step {
  readonly command: string;
  readonly output: string;
}

/** `$ ` begins a command, `> ` goes on with it; what follows is its output. */
function stepsOf(block: Block): Step[] {
  const steps: { command: string[]; output: string[] }[] = [];
  for (const line of block.body.split('\n')) {
    const last = steps[steps.length - 1];
    if (line.startsWith('$ ')) steps.push({ command: [line.slice(2)], output: [] });
    else if (last !== undefined && last.output.length === 0 && line.startsWith('> ')) last.command.push(line.slice(2));
    else if (last !== undefined) last.output.push(line);
  }
  return steps.map(({ command, output }) => ({ command: command.join('\n'), output: output.join('\n') }));
}

function run(command: string, folder: string): { output: string; status: number | null } {
  const script = `duskbank() { "${process.execPath}" "${join(ROOT, 'packages/cli/bin/duskbank.js')}" "$@"; }\n${command}`;
  const { stdout, status } = spawnSync('bash', ['-c', `{ ${script}\n} 2>&1`], {
    cwd: folder,
    encoding: 'utf8',
    env: { ...process.env, NO_COLOR: '1', SOURCE_DATE_EPOCH: '0' },
  });
  return { output: stdout.replace(/\n+$/, ''), status };
}

/** Whether the output is what the document shows, `…` lines standing for any. */
function agrees(documented: string, output: string): boolean {
  const pattern = documented
    .split(/^…$/m)
    .map((part) => part.replace(/[.*+?^${}()|[\]\\]/g, '\\$&'))
    .join('[\\s\\S]*?');
  return new RegExp(`^${pattern}$`).test(output);
}

/**
 * What the document should show: as it is where it agrees; else with its parts, found by all but their figures, written
 * anew and its `…` kept; else the whole output.
 */
function shownAnew(documented: string, output: string): string {
  if (agrees(documented, output)) return documented;
  const mask = (line: string) => line.replace(/[\d.,−\s]+/g, '#');
  const lines = output.split('\n');
  const masked = lines.map(mask);
  let from = 0;
  const parts: string[] = [];
  for (const part of documented.split(/^…$/m)) {
    const sought = part.replace(/^\n|\n$/g, '').split('\n');
    if (part.trim() === '') {
      parts.push('');
      continue;
    }
    const at = masked.findIndex((_, i) => i >= from && sought.every((line, k) => mask(line) === masked[i + k]));
    if (at < 0) return output;
    from = at + sought.length;
    parts.push(lines.slice(at, from).join('\n'));
  }
  const anew = parts.join('\n…\n').replace(/^\n|\n$/g, '');
  return agrees(anew, output) ? anew : output;
}

test('a figure that moved is written anew, and what a document leaves out stays left out', () => {
  expect(shownAnew('…\nsaves 1.5 a year\n…', 'home\nsaves 2.25 a year\nend')).toBe('…\nsaves 2.25 a year\n…');
  expect(shownAnew('home\n…', 'home\nsaves 2\nend')).toBe('home\n…');
  expect(shownAnew('…\nloses 1', 'home\nsaves 2')).toBe('home\nsaves 2');
});

test.each(shown.map(({ path, text }) => [path, text]))('the runs in %s print what is shown', async (path, text) => {
  const folder = mkdtempSync(join(tmpdir(), 'duskbank-docs-'));
  try {
    cpSync(join(ROOT, 'fixtures'), join(folder, 'fixtures'), { recursive: true });
    const bodies: { block: Block; body: string }[] = [];
    for (const block of blocksOf(text)) {
      if (block.language !== 'console') continue;
      const lines: string[] = [];
      for (const step of stepsOf(block)) {
        const { output, status } = run(step.command, folder);
        expect({ command: step.command, status }).toEqual({
          command: step.command,
          status: /^error: /m.test(step.output) ? 2 : 0,
        });
        lines.push(`$ ${step.command.replaceAll('\n', '\n> ')}`);
        const body = shownAnew(step.output, output);
        if (body !== '') lines.push(body);
      }
      bodies.push({ block, body: lines.join('\n') });
    }
    await expect(withBodies(text, bodies)).toMatchFileSnapshot(join(ROOT, path));
  } finally {
    rmSync(folder, { recursive: true });
  }
});

test('every script that a document tells to run is one of the root’s', () => {
  const { scripts } = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8'));
  let seen = 0;
  for (const { path, text } of documents())
    for (const [, name] of text.matchAll(/npx --yes pnpm@[\d.]+ (?:run )?([a-z:]+)/g)) {
      seen++;
      expect(['exec', 'install', ...Object.keys(scripts)], path).toContain(name);
    }
  expect(seen).toBeGreaterThan(3);
});

test('where a site states a controller, compare speaks of what that can be told', () => {
  const folder = mkdtempSync(join(tmpdir(), 'duskbank-docs-'));
  try {
    cpSync(join(ROOT, 'fixtures/demo'), folder, { recursive: true });
    const { output, status } = run(
      `sed 's/"gridCharging": true/"gridCharging": true, "controller": { "windowsPerDay": 1 }/' site.json > box.json; duskbank compare box.json`,
      folder,
    );
    expect(status).toBe(0);
    expect(output).toMatch(/^settings +\d/m);
    expect(output).toMatch(/^Run as "settings"/m);
  } finally {
    rmSync(folder, { recursive: true });
  }
});
