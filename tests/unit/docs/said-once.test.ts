import { readdirSync, readFileSync } from 'node:fs';
import { expect, test } from 'vitest';

const golden = new URL('../../cli/golden/', import.meta.url);

/** Sentences of more than six words that a page says twice, however its lines are broken. */
function saidTwice(page: string): string[] {
  const counts = new Map<string, number>();
  const sentences = page
    .replace(/\s+/g, ' ')
    .split(/(?<=[.!?:;]) (?=[A-Z"“!*-])/)
    .map((sentence) => sentence.replace(/^[-*! ]+/, '').trim());
  for (const sentence of sentences)
    if (sentence.split(' ').length > 6) counts.set(sentence, (counts.get(sentence) ?? 0) + 1);
  return [...counts].filter(([, times]) => times > 1).map(([sentence]) => sentence);
}

test('a sentence said twice is found, across lines and marks', () => {
  expect(
    saidTwice(
      '! Ask an electrician before\n  anything is wired here. Fine.\n- Ask an electrician before anything is wired here. Done.',
    ),
  ).toEqual(['Ask an electrician before anything is wired here.']);
});

const pages = readdirSync(golden).filter((name) => !name.includes('json'));

test('there are pages to read', () => {
  expect(pages.length).toBeGreaterThan(20);
});

test.each(pages)('%s says no sentence twice', (name) => {
  expect(saidTwice(readFileSync(new URL(name, golden), 'utf8'))).toEqual([]);
});
