import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import ts from 'typescript';
import { ROOT } from './documents.ts';

const WORDS = join(ROOT, 'packages/core/src/words');

/** A code that core tells, as its entry in the words has it. */
export interface FactCode {
  readonly code: string;
  /** The entry's comment: when it is told, and what it means. */
  readonly meaning: string;
  /** What its data hold; a `?` where not every form of it has the field. */
  readonly fields: readonly string[];
}

/** Facts by topic: the comment of each table of words, and its entries. */
export function factTopics(): { readonly topic: string; readonly codes: readonly FactCode[] }[] {
  const files = readdirSync(WORDS).map((name) => join(WORDS, name));
  const program = ts.createProgram(files, {
    strict: true,
    target: ts.ScriptTarget.ES2022,
    noEmit: true,
    allowImportingTsExtensions: true,
  });
  const checker = program.getTypeChecker();
  const topics: { topic: string; codes: FactCode[] }[] = [];
  for (const file of files)
    for (const statement of program.getSourceFile(file)!.statements) {
      if (!ts.isVariableStatement(statement)) continue;
      for (const { name, initializer } of statement.declarationList.declarations) {
        const table =
          initializer !== undefined && ts.isAsExpression(initializer) ? initializer.expression : initializer;
        if (!/_(?:WORDS|PARTS)$/.test(name.getText()) || table === undefined || !ts.isObjectLiteralExpression(table))
          continue;
        const codes = table.properties.flatMap((entry) =>
          ts.isSpreadAssignment(entry)
            ? []
            : [{ code: codeOf(entry), meaning: commentOf(entry), fields: fieldsOf(checker, entry) }],
        );
        if (codes.length > 0) topics.push({ topic: commentOf(statement), codes });
      }
    }
  return topics;
}

function codeOf(entry: ts.ObjectLiteralElementLike): string {
  const { name } = entry;
  if (name === undefined) throw new Error(`an entry without a code: ${entry.getText()}`);
  return ts.isStringLiteral(name) ? name.text : name.getText();
}

function commentOf(node: ts.Node): string {
  const [comment] = ts.getJSDocCommentsAndTags(node);
  if (comment === undefined) throw new Error(`no comment: ${node.getText().slice(0, 80)}`);
  const text =
    typeof comment.comment === 'string' ? comment.comment : (ts.getTextOfJSDocComment(comment.comment) ?? '');
  return text.replace(/\s+/g, ' ').trim();
}

/** The fields of the data that an entry is handed. */
function fieldsOf(checker: ts.TypeChecker, entry: ts.ObjectLiteralElementLike): string[] {
  const type = checker.getTypeAtLocation(entry);
  const [signature] =
    type.getCallSignatures().length > 0 ? type.getCallSignatures() : dataSignatures(checker, type, entry);
  const parameter = signature?.parameters[0];
  if (parameter === undefined) return [];
  const data = checker.getTypeOfSymbolAtLocation(parameter, entry);
  const forms = data.isUnion() ? data.types : [data];
  const fields = new Map<string, number>();
  for (const form of forms)
    for (const property of checker.getPropertiesOfType(form)) {
      const optional = (property.flags & ts.SymbolFlags.Optional) !== 0;
      fields.set(property.name, (fields.get(property.name) ?? 0) + (optional ? 0 : 1));
    }
  return [...fields].map(([name, times]) => (times === forms.length ? name : `${name}?`));
}

/** An entry of several sentences made of the same data: the first one’s. */
function dataSignatures(checker: ts.TypeChecker, type: ts.Type, entry: ts.Node): readonly ts.Signature[] {
  for (const property of checker.getPropertiesOfType(type)) {
    const signatures = checker.getTypeOfSymbolAtLocation(property, entry).getCallSignatures();
    if (signatures.length > 0) return signatures;
  }
  return [];
}
