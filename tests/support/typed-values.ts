// Arguments made from types: what a function may be handed, its parts one at a time other than the plainest.
import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import ts from 'typescript';

/** Where the sentences are. */
export const WORDS = join(import.meta.dirname, '../../packages/core/src/words');
export const WORD_FILES = readdirSync(WORDS)
  .filter((name) => name.endsWith('.ts'))
  .sort();

const program = ts.createProgram(
  WORD_FILES.map((name) => join(WORDS, name)),
  { strict: true, target: ts.ScriptTarget.ES2022, noEmit: true, allowImportingTsExtensions: true },
);
export const checker = program.getTypeChecker();

/** Figures on either side of what sentences ask of them: none, one, some, what rounds to nothing, a loss. */
const NUMBERS = [3, 0, 1, 2, 0.004, 0.005, 0.049, 0.05, 0.5, 0.95, 1.5, 12, 30.25, 400, 12_345.678, -2.5];
const DATES = ['2026-03-31', '2026-04-01T05:30'];

const INTRINSIC = ts.TypeFlags.Null | ts.TypeFlags.Undefined;

/**
 * The types of a union: none first, then by their text. The checker's own order is that in which it met
 * them, and moves with a line of a file that has nothing to do with them.
 */
function membersOf(union: ts.UnionType): readonly ts.Type[] {
  const key = (type: ts.Type) =>
    `${(type.flags & INTRINSIC) === 0 ? 1 : 0}${checker.typeToString(type, undefined, ts.TypeFormatFlags.NoTruncation)}`;
  return union.types.toSorted((a, b) => (key(a) < key(b) ? -1 : 1));
}

/** Values that a type may have, the plainest first. */
export function valuesOf(type: ts.Type, name: string, depth: number): readonly unknown[] {
  if (type.isUnion()) {
    const each = membersOf(type).map((one) => valuesOf(one, name, depth));
    return [...each.map(([first]) => first), ...each.flatMap((values) => values.slice(1))];
  }
  if (type.isStringLiteral() || type.isNumberLiteral()) return [type.value];
  if ((type.flags & ts.TypeFlags.Null) !== 0) return [null];
  if ((type.flags & ts.TypeFlags.Undefined) !== 0) return [undefined];
  if ((type.flags & ts.TypeFlags.BooleanLiteral) !== 0) return [checker.typeToString(type) === 'true'];
  if ((type.flags & ts.TypeFlags.NumberLike) !== 0) return /month/i.test(name) ? [3, 1, 12] : NUMBERS;
  if ((type.flags & ts.TypeFlags.StringLike) !== 0)
    return /start|end|date|from|until|at$/i.test(name) ? DATES : ['Mill'];
  if (checker.isArrayType(type) || checker.isTupleType(type)) {
    const [of] = checker.getTypeArguments(type as ts.TypeReference);
    if (of === undefined || depth === 0) return [[]];
    const values = valuesOf(of, name, depth - 1);
    const some = [values[0], values[1] ?? values[0], values[2] ?? values[0]];
    // More than a sentence tells of.
    const many = Array.from({ length: 9 }, (_, k) => values[k % values.length]);
    return checker.isTupleType(type) ? [some.slice(0, 2)] : [some, some.slice(0, 1), some.slice(0, 2), [], many];
  }
  if (depth === 0) return [{}];
  const properties = checker.getPropertiesOfType(type);
  const fields = properties.map((property) => {
    const own = checker.getTypeOfSymbol(property);
    const values = valuesOf(own, property.name, depth - 1);
    return [property.name, (property.flags & ts.SymbolFlags.Optional) === 0 ? values : [...values, undefined]] as const;
  });
  const plain = Object.fromEntries(fields.map(([field, values]) => [field, values[0]]));
  return [
    plain,
    ...fields.flatMap(([field, values]) => values.slice(1).map((value) => ({ ...plain, [field]: value }))),
  ];
}

/** What a file of words exports, by name. */
export function exportsOf(file: string): readonly ts.Symbol[] {
  return checker.getExportsOfModule(checker.getSymbolAtLocation(program.getSourceFile(join(WORDS, file))!)!);
}
