import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Worker } from 'node:worker_threads';
import { type Browser, chromium } from 'playwright-core';
import { build } from 'tsdown';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { yearInBits } from './entry.ts';

const EXECUTABLE = ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome'].find(existsSync);
const CI = process.env.CI !== undefined;

describe('a year comes out the same, to the last bit,', () => {
  const here = yearInBits();
  let folder = '';
  let script = '';
  let browser: Browser | undefined;

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'duskbank-browser-'));
    await build({
      entry: { page: new URL('entry.ts', import.meta.url).pathname },
      outDir: folder,
      format: 'iife',
      globalName: 'duskbank',
      platform: 'browser',
      target: 'es2022',
      dts: false,
      clean: false,
      noExternal: [/.*/],
      inputOptions: { resolve: { conditionNames: ['duskbank-source', 'import', 'browser', 'default'] } },
      logLevel: 'error',
      config: false,
      outExtensions: () => ({ js: '.js' }),
    });
    const [file] = readdirSync(folder).filter((name) => name.endsWith('.js'));
    script = readFileSync(join(folder, file!), 'utf8');
    if (EXECUTABLE !== undefined)
      browser = await chromium.launch({
        executablePath: EXECUTABLE,
        args: ['--no-sandbox', '--disable-gpu', '--disable-background-networking', '--disable-sync'],
      });
  }, 120_000);

  afterAll(async () => {
    await browser?.close();
    rmSync(folder, { recursive: true, force: true });
  });

  test('in every strategy, by five different hashes', () => {
    expect(new Set(Object.values(here)).size).toBe(5);
  });

  // Where no browser is installed this is skipped, except on a server, where it must run.
  test.skipIf(EXECUTABLE === undefined && !CI)('in a browser', async () => {
    expect(browser, 'no Chromium on this machine').toBeDefined();
    const page = await browser!.newPage({ timezoneId: 'Pacific/Auckland' });
    await page.setContent('<!doctype html><title>year</title>');
    await page.addScriptTag({ content: script });
    const there = await page.evaluate('duskbank.yearInBits()');
    expect(there).toEqual(here);
  });

  test('in a worker, on a machine of another zone', async () => {
    const code = `process.env.TZ = 'Asia/Kathmandu';\n${script}\nrequire('node:worker_threads').parentPort.postMessage(duskbank.yearInBits());`;
    const there = await new Promise((resolve, reject) => {
      const worker = new Worker(code, { eval: true, env: { ...process.env, TZ: 'Asia/Kathmandu' } });
      worker.once('message', resolve);
      worker.once('error', reject);
    });
    expect(there).toEqual(here);
  });
});
