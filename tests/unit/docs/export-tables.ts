import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import ts from 'typescript';
import { ROOT } from './documents.ts';

const SOURCE = join(ROOT, 'packages/core/src');

/** A name that programs may import. */
export interface ExportedName {
  readonly name: string;
  readonly kind: 'function' | 'class' | 'value' | 'type';
  /** First sentence of its comment; empty where it has none. */
  readonly meaning: string;
}

/** What `@duskbank/core/<folder>` exports, folder by folder. */
export function exportsOfCore(): { readonly folder: string; readonly names: readonly ExportedName[] }[] {
  const indexOf = (folder: string) => join(SOURCE, folder, 'index.ts');
  const folders = readdirSync(SOURCE, { withFileTypes: true })
    .filter((entry) => entry.isDirectory() && ts.sys.fileExists(indexOf(entry.name)))
    .map(({ name }) => name)
    .sort();
  const program = ts.createProgram(folders.map(indexOf), {
    strict: true,
    target: ts.ScriptTarget.ES2022,
    module: ts.ModuleKind.ESNext,
    moduleResolution: ts.ModuleResolutionKind.Bundler,
    noEmit: true,
    allowImportingTsExtensions: true,
  });
  const checker = program.getTypeChecker();
  return folders.map((folder) => {
    const index = checker.getSymbolAtLocation(program.getSourceFile(indexOf(folder))!)!;
    const names = checker.getExportsOfModule(index).map((exported): ExportedName => {
      const symbol = exported.flags & ts.SymbolFlags.Alias ? checker.getAliasedSymbol(exported) : exported;
      const comment = ts.displayPartsToString(symbol.getDocumentationComment(checker));
      return { name: exported.name, kind: kindOf(symbol), meaning: firstSentence(comment) };
    });
    return { folder, names: names.sort((a, b) => (a.name < b.name ? -1 : 1)) };
  });
}

function kindOf({ flags }: ts.Symbol): ExportedName['kind'] {
  if (flags & ts.SymbolFlags.Function) return 'function';
  if (flags & ts.SymbolFlags.Class) return 'class';
  return flags & ts.SymbolFlags.Value ? 'value' : 'type';
}

/** Up to the first full stop; `{@link x}` becomes `x`. */
function firstSentence(comment: string): string {
  const text = comment
    .replace(/\{@link (\w+)\}/g, '`$1`')
    .replace(/\s+/g, ' ')
    .trim();
  return /^.*?\.(?= [A-Z`]|$)/.exec(text)?.[0] ?? text;
}
