import { parseIntervalData } from '@duskbank/core/meter';
import { loadCorpus, mutated, wrongWith } from '../mutate-meter.mjs';
import { type Fuzzer, unspeakable } from './fuzzer.ts';

const corpus = loadCorpus();

/** Interval files of every layout, damaged by lines, cells and bytes. */
export const meterFiles: Fuzzer = {
  name: 'meter-files',
  make(seed, n) {
    const { name, bytes, options } = mutated(corpus, seed, n);
    return { name, files: { 'home.csv': bytes }, args: [JSON.stringify(options)] };
  },
  wrongWith({ files, args }) {
    const result = parseIntervalData(files['home.csv']!, JSON.parse(args![0]!));
    const said = result.findings.map(({ message }) => message).join('\n');
    return wrongWith(result) ?? unspeakable(said);
  },
};
