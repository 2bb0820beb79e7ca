import type { Fact } from '@duskbank/core/input';
import { CAUSE_WORDS } from '../../packages/core/src/words/causes.ts';
import { HOME_WORDS, ofPlannedSolar } from '../../packages/core/src/words/home.ts';
import { CAUTION_WORDS, CIRCUIT_WORDS } from '../../packages/core/src/words/outage.ts';
import { SITING_WORDS } from '../../packages/core/src/words/siting.ts';
import { onTariff, STUDY_WORDS } from '../../packages/core/src/words/study.ts';
import { TARIFF_WORDS } from '../../packages/core/src/words/tariff.ts';
import { asJson } from './reports.ts';

const TABLES: Readonly<Record<string, (data: never) => string>>[] = [
  TARIFF_WORDS,
  HOME_WORDS,
  STUDY_WORDS,
  CIRCUIT_WORDS,
  CAUTION_WORDS,
  SITING_WORDS,
  CAUSE_WORDS,
];

/** Whether the words of a code are among those of warnings, causes, circuits and sitings: others are findings of files. */
export function hasWords({ code }: Pick<Fact, 'code'>): boolean {
  return TABLES.some((words) => entryOf(code) in words);
}

/** Codes of facts whose message is not what words make of the code and of what JSON keeps of the data. */
export function unmade(facts: readonly Fact[]): string[] {
  return facts.filter((fact) => !sentencesOf(fact).includes(fact.message)).map(({ code }) => code);
}

function sentencesOf({ code, data }: Fact): string[] {
  const kept = asJson(data);
  return TABLES.flatMap((words) => {
    const say = words[entryOf(code)];
    if (say === undefined) return [];
    try {
      const sentence = say(kept as never);
      return [
        sentence,
        ofPlannedSolar(sentence),
        ...('tariff' in kept ? [onTariff(String(kept.tariff), sentence)] : []),
      ];
    } catch {
      // The data of another table's fact of this code.
      return [];
    }
  });
}

function entryOf(code: string): string {
  return code.includes('+') ? 'pair' : code;
}
