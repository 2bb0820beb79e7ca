// A run that is killed at any moment, within a call of the system too, leaves each target old or whole, and the next run
// tidies up: at random moments over the whole run, half of them once it has begun to write. NIGHTLY_KILLS says how many
// for each command. tests/cli/killed.test.ts kills before each call that changes the disk.
import { spawn } from 'node:child_process';
import { existsSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { expect, test } from 'vitest';
import { BINARY, copyOf, duskbank, folderWith } from '../cli/support.ts';
import { filesIn, WRITINGS, wrongAfterKill, wrongAfterNext } from '../support/killed.ts';
import { randomOf } from '../support/mutate-meter.mjs';

const SEED = Number(process.env.NIGHTLY_SEED ?? 1);
const KILLS = Number(process.env.NIGHTLY_KILLS ?? 20);

test.skipIf(process.platform === 'win32').each(WRITINGS)(
  '$name, killed at random moments',
  async (writing) => {
    const random = randomOf(SEED);
    const folder = writing.folder === 'small' ? copyOf('small') : folderWith();
    const before = () => {
      for (const name of writing.targets) {
        rmSync(join(folder, name), { force: true });
        if (writing.old !== undefined) writeFileSync(join(folder, name), writing.old);
      }
      return filesIn(folder);
    };
    before();
    const began = performance.now();
    expect(duskbank(writing.args, folder).status).toBe(0);
    const wholeMs = performance.now() - began;
    const whole = filesIn(folder);
    let killed = 0;
    let leftParts = 0;
    for (let k = 0; k < KILLS; k++) {
      const found = before();
      const child = spawn(process.execPath, [BINARY, ...writing.args], { cwd: folder, stdio: 'ignore' });
      const ended = new Promise((settle) => child.on('close', (_, signal) => settle(signal)));
      if (k % 2 === 0) await pause(random() * wholeMs);
      else {
        while (child.exitCode === null && !readdirSync(folder).some((name) => name.endsWith('.part'))) await pause(1);
        await pause(random() * 5);
      }
      child.kill('SIGKILL');
      if ((await ended) === 'SIGKILL') killed++;
      const after = filesIn(folder);
      if ([...after.keys()].some((name) => name.endsWith('.part'))) leftParts++;
      expect(wrongAfterKill(writing, found, whole, after), `kill ${k} of seed ${SEED}`).toEqual([]);
      if (writing.name === 'init')
        for (const name of writing.targets) if (existsSync(join(folder, name))) rmSync(join(folder, name));
      expect(duskbank(writing.args, folder).status).toBe(0);
      expect(wrongAfterNext(writing, found, whole, filesIn(folder)), `after kill ${k} of seed ${SEED}`).toEqual([]);
    }
    process.stdout.write(
      `${writing.name}: ${killed} of ${KILLS} runs were killed, ${leftParts} left an unfinished file\n`,
    );
    // Those that ended before their moment came say nothing.
    expect(killed).toBeGreaterThan(KILLS / 4);
  },
  3_600_000,
);
