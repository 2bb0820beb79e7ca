import { spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, readFileSync, realpathSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { commitOf, inWorktree } from '../../bench/harness/against.mjs';
import { difference, type Line, measureLines } from '../../bench/harness/lines.mjs';
import { measure, median, ratioOf, settled, spread, type Task, warmUp } from '../../bench/harness/rounds.mjs';
import { headOf, isWrong, LEGEND, textOf } from '../../bench/harness/table.mjs';

/** A clock that stands still but for what the tasks add to it. */
function stopped() {
  let now = 0;
  const lasting = (ms: number) => () => {
    now += ms;
  };
  return { clock: () => now, lasting, pass: (ms: number) => (now += ms) };
}
const LIMITS = { arrayNs: { median: 1 }, letterNs: { median: 1 } };

describe('medians of rounds', () => {
  test('median and spread of known times; one odd round moves neither', () => {
    expect(median([3, 1, 2])).toBe(2);
    expect(median([4, 1, 2, 3])).toBe(2.5);
    expect(spread([1, 2, 4])).toBe(1);
    expect(median([2, 2, 2, 2, 900])).toBe(2);
    expect(spread([2, 2, 2, 2, 900])).toBe(0);
  });

  test('ratios are taken within a round, so that a busy moment that falls on both counts in neither', () => {
    expect(ratioOf([6, 60, 6], [2, 20, 2])).toEqual({ median: 3, spread: 0 });
  });

  test('settled says that the last two medians agree', () => {
    expect(settled([1])).toBe(false);
    expect(settled([2.6, 1.55])).toBe(false);
    expect(settled([2.6, 1.55, 1.56])).toBe(true);
    expect(settled([1.56, 1.55, 2.6])).toBe(false);
  });

  test('warm-up outlasts a time in which a line stands still before the engine changes what it runs', () => {
    const { clock, pass } = stopped();
    let calls = 0;
    const task: Task = { run: () => pass(++calls <= 340 ? 2.6 : 1.55) };
    warmUp([task], { clock });
    expect(task.settled).toBe(true);
    expect(calls).toBeGreaterThan(340);
    measure([task], { clock, budgetMs: 50 });
    expect(median(task.times ?? [])).toBeCloseTo(1.55, 9);
  });

  test('a line that never settles ends at its bound, and that is said', () => {
    const { clock, pass } = stopped();
    let calls = 0;
    const restless: Task = { run: () => pass(Math.floor(calls++ / 90) % 2 === 0 ? 1 : 2) };
    warmUp([restless], { clock });
    expect(restless.settled).toBe(false);
    const line: Line = { name: 'restless', run: () => pass(Math.floor(calls++ / 90) % 2 === 0 ? 1 : 2) };
    const [row] = measureLines([line], undefined, { clock });
    expect(textOf(row!, LIMITS, false).join('\n')).toContain('had not settled');
  });

  test('a short line beside a long one is called several times a round', () => {
    const { clock, lasting } = stopped();
    const [short, long]: [Task, Task] = [{ run: lasting(1) }, { run: lasting(2000) }];
    expect(measure([short, long], { clock })).toBe(5);
    expect(short.perRound).toBe(40);
    expect(short.times).toEqual([1, 1, 1, 1, 1]);
    expect(long.times).toEqual([2000, 2000, 2000, 2000, 2000]);
  });
});

describe('lines and their rows', () => {
  const { clock, lasting } = stopped();
  const base: Line = { name: 'base', fixed: true, steps: 1000, run: lasting(2), sum: () => 5 };
  const rows = (line: Line, before?: Line) =>
    measureLines([base, line], before === undefined ? undefined : [base, before], { clock, budgetMs: 100 })[1]!;
  const said = (line: Line, before?: Line) => textOf(rows(line, before), LIMITS, before !== undefined).join('\n');

  test('a ratio, its aim, and how far it is from the limit', () => {
    const line: Line = {
      name: 'ours',
      beside: 'base',
      steps: 1000,
      limit: { arrays: 4 },
      aim: { most: 8 },
      run: lasting(6),
    };
    expect(rows(line).ratio).toEqual({ median: 3, spread: 0 });
    // 4 arrays of 1000 entries at 1 ns are 0.004 ms.
    expect(said(line)).toMatch(/^ {2}ours +3\.00 ± +0 % × base +≤ 8 1500 +6\.00 ms$/);
    expect(said({ ...line, aim: { most: 2 } })).toContain('≤ 2 no');
    expect(said({ ...line, aim: { mostNs: 6000 } })).toMatch(/≤ 6000 ns +1500/);
    expect(said({ ...line, aim: { mostNs: 5999 } })).toContain('≤ 5999 ns no');
  });

  test('an aim of so many times as fast turns the ratio round', () => {
    const line: Line = { name: 'ours', beside: 'base', made: true, aim: { least: 4 }, run: lasting(0.5) };
    expect(said(line)).toMatch(/^~ ours +4\.00 ± +0 % \/ base +≥ 4 /);
    expect(said({ ...line, aim: { least: 5 } })).toContain('≥ 5 no');
  });

  test('growth is held against time a step', () => {
    const line: Line = { name: 'ten', beside: 'base', steps: 10_000, perStep: true, run: lasting(21) };
    expect(rows(line).ratio?.median).toBeCloseTo(1.05, 9);
  });

  test('before and after in one table, and whether results agree', () => {
    const now: Line = { name: 'ours', beside: 'base', run: lasting(2), sum: () => 5 };
    const then = { ...now, run: lasting(4) };
    expect(said(now, then)).toMatch(/^ {2}ours +2\.00 +1\.00 +0\.50 ± +0 % +same × base$/);
    expect(said({ ...now, sum: () => 5 + 1e-14 }, then)).toMatch(/ 2e-15 × base$/);
    expect(said({ ...now, sum: () => 5.005 }, then)).toContain('OFF 1e-3');
    expect(said({ ...now, sum: () => Number.NaN }, then)).toContain('OFF Infinity');
    expect(said({ ...now, sum: undefined }, { ...then, sum: undefined })).not.toContain('same');
  });

  test('a result that is not that of the line beside it is said, and fails', () => {
    const line: Line = { name: 'ours', beside: 'base', within: 1e-9, run: lasting(2), sum: () => 5 + 1e-12 };
    expect(isWrong(rows(line))).toBe(false);
    const wrong = { ...line, sum: () => 5.01 };
    expect(isWrong(rows(wrong))).toBe(true);
    expect(said(wrong)).toContain('WRONG: its result differs from that of base by 2e-3');
    expect(isWrong(rows({ ...line, sum: () => Number.NaN }))).toBe(true);
  });

  test('what the version before has not is said', () => {
    const now: Line = { name: 'ours', beside: 'base', run: lasting(2), sum: () => 5 };
    const missing = () => {
      throw new TypeError('core.fresh is not a function');
    };
    expect(said(now, { ...now, run: missing })).toContain('no such line: core.fresh is not a function');
    expect(() => rows(now, { ...now, name: 'other' })).toThrow('other stands beside ours');
  });

  test('no line of the table is wider than 80 columns', () => {
    const wide: Line = {
      name: 'a name of twenty-eight signs',
      beside: 'base',
      made: true,
      aim: { mostNs: 110 },
      steps: 1000,
      limit: { arrays: 4 },
      run: lasting(0.099),
      sum: () => 5.1,
    };
    const lines = [...LEGEND, headOf(false), headOf(true), said(wide), said(wide, { ...wide, sum: () => 5 })];
    for (const line of lines) expect(line.length, line).toBeLessThanOrEqual(80);
    expect(() => rows({ ...wide, name: `${wide.name}s` })).toThrow('no room for the name');
  });

  test('a difference of results is a share of them, and none only to the bit', () => {
    expect(difference(2, 2)).toBe(0);
    expect(difference(2, 2.02)).toBeCloseTo(0.0099, 4);
    expect(difference(0, 1e-300)).toBe(1);
    expect(difference(1, undefined)).toBe(Number.POSITIVE_INFINITY);
  });
});

describe('the worktree of another commit', () => {
  let repo = '';
  const git = (...args: string[]) => {
    const { status, stdout, stderr } = spawnSync('git', args, { cwd: repo, encoding: 'utf8' });
    if (status !== 0) throw new Error(stderr);
    return stdout.trim();
  };
  const left = () => readdirSync(realpathSync(tmpdir())).filter((name) => name.startsWith('duskbank-bench-'));
  const worktrees = () => git('worktree', 'list', '--porcelain').match(/^worktree /gm)?.length;
  beforeAll(() => {
    repo = mkdtempSync(join(tmpdir(), 'duskbank-repo-'));
    git('init', '--quiet');
    writeFileSync(join(repo, 'said'), 'before');
    git('add', '.');
    git('-c', 'user.name=T', '-c', 'user.email=t@example.com', 'commit', '--quiet', '-m', 'one');
    writeFileSync(join(repo, 'said'), 'after');
  });
  afterAll(() => rmSync(repo, { recursive: true }));

  test('a name that stands for no commit is refused', () => {
    expect(commitOf(repo, 'HEAD')).toBe(git('rev-parse', 'HEAD'));
    expect(() => commitOf(repo, 'nowhere')).toThrow('no commit is named "nowhere"');
    expect(() => commitOf(repo, '--all')).toThrow('no commit is named "--all"');
  });

  test('it holds the commit, and is gone afterwards, also when the work fails', async () => {
    let folder = '';
    const read = await inWorktree(repo, 'HEAD', async (at) => {
      folder = at;
      expect(worktrees()).toBe(2);
      return readFileSync(join(at, 'said'), 'utf8');
    });
    expect(read).toBe('before');
    expect(existsSync(folder)).toBe(false);
    expect(worktrees()).toBe(1);
    const failing = inWorktree(repo, 'HEAD', async (at) => {
      folder = at;
      throw new Error('broken');
    });
    await expect(failing).rejects.toThrow('broken');
    expect(existsSync(folder)).toBe(false);
    expect(worktrees()).toBe(1);
    expect(process.listenerCount('SIGTERM')).toBeLessThan(3);
  });

  test.each(['SIGINT', 'SIGTERM', 'SIGHUP'] as const)('nothing is left behind by %s', async (signal) => {
    const before = left();
    const against = new URL('../../bench/harness/against.mjs', import.meta.url).href;
    const script = `import { inWorktree } from '${against}';
      await inWorktree('${repo}', 'HEAD', async (folder, start) => {
        console.log(folder);
        await start(process.execPath, ['-e', 'setTimeout(() => {}, 60000)']);
      });`;
    const child = spawn(process.execPath, ['--input-type=module', '-e', script]);
    const folder = await new Promise<string>((resolve) => {
      child.stdout.once('data', (data) => resolve(String(data).trim()));
    });
    expect(existsSync(folder)).toBe(true);
    const ended = new Promise((resolve) => child.once('exit', resolve));
    child.kill(signal);
    expect(await ended).toBeGreaterThan(128);
    expect(existsSync(folder)).toBe(false);
    expect(worktrees()).toBe(1);
    expect(left()).toEqual(before);
  });
});
