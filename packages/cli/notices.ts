import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';

/** Licences that let their code be handed on in ours, by their SPDX names, as long as their text goes with it. */
export const LICENCES = ['0BSD', 'Apache-2.0', 'BSD-2-Clause', 'BSD-3-Clause', 'BlueOak-1.0.0', 'ISC', 'MIT'];

interface Chunk {
  readonly type: string;
  readonly moduleIds?: readonly string[];
}

interface Package {
  readonly name: string;
  readonly version: string;
  readonly license: string;
  readonly author?: string | { readonly name: string };
}

/** The folder of the package that a module is of; undefined for what is ours. */
function packageFolder(moduleId: string): string | undefined {
  return /^.*[\\/]node_modules[\\/](?:@[^\\/]+[\\/])?[^\\/]+/.exec(moduleId)?.[0];
}

function packageIn(folder: string): Package {
  return JSON.parse(readFileSync(join(folder, 'package.json'), 'utf8'));
}

function noticeOf(folder: string): string {
  const { name, version, license, author } = packageIn(folder);
  if (!LICENCES.includes(license))
    throw new Error(`${name} ${version} is bundled under "${license}", which notices.ts doesn’t list: may it be?`);
  const texts = readdirSync(folder)
    .filter((file) => /^(?:licen[cs]e|copying|notice)(?:\.|$)/i.test(file))
    .map((file) => readFileSync(join(folder, file), 'utf8').trim());
  const by = typeof author === 'string' ? author : author?.name;
  const text =
    texts.length > 0
      ? texts.join('\n\n')
      : `Licence: ${license}${by === undefined ? '' : `. By ${by}`}. Its package holds no text of the licence.`;
  return `${name} ${version} (${license})\n\n${text}`;
}

/** Writes NOTICES.txt: the licence of every package of which a module is in the bundle. */
export function notices() {
  return {
    name: 'notices',
    generateBundle(
      this: { emitFile(file: { type: 'asset'; fileName: string; source: string }): string },
      _: unknown,
      bundle: Record<string, Chunk>,
    ) {
      const folders = Object.values(bundle).flatMap(({ moduleIds = [] }) =>
        moduleIds.flatMap((id) => packageFolder(id) ?? []),
      );
      const all = [...new Set(folders)].map(noticeOf).sort();
      const intro = 'duskbank holds code of the packages below. Each stands under its own licence.';
      const source = `${[intro, ...all].join(`\n\n${'-'.repeat(80)}\n\n`)}\n`;
      this.emitFile({ type: 'asset', fileName: 'NOTICES.txt', source });
    },
  };
}
