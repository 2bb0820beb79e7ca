// Single faults that could be in the code: found in the syntax tree, chosen by a seed, and built in beside the right code,
// so that one copy of the tree holds all of them and a number says which one is alive.
import ts from 'typescript';

// biome-ignore format: a table
const OPPOSITE = {
  '+': '-', '-': '+', '*': '/', '/': '*', '%': '*',
  '<': '<=', '<=': '<', '>': '>=', '>=': '>',
  '===': '!==', '!==': '===', '&&': '||', '||': '&&',
  '+=': '-=', '-=': '+=', '*=': '/=', '/=': '*=',
};
const OTHER_CALL = {
  max: 'min',
  min: 'max',
  floor: 'ceil',
  ceil: 'floor',
  round: 'floor',
  every: 'some',
  some: 'every',
};

/**
 * Every fault that one file could have: `{ start, end, from, to, kind, statement, atLoad }`, places in characters; `atLoad`
 * outside of every function, where it runs once for all tests that share the module.
 */
export function faultsOf(text, name) {
  const file = ts.createSourceFile(name, text, ts.ScriptTarget.Latest, true, ts.ScriptKind.TS);
  const faults = [];
  const textOf = (node) => text.slice(node.getStart(file), node.end);
  const add = (node, kind, to, statement = false) =>
    faults.push({
      start: node.getStart(file),
      end: node.end,
      from: textOf(node),
      to,
      kind,
      statement,
      atLoad: ts.findAncestor(node, ts.isFunctionLike) === undefined,
    });

  const visit = (node) => {
    if (ts.isTypeNode(node) || ts.isImportDeclaration(node) || ts.isExportDeclaration(node)) return;
    if (ts.isThrowStatement(node) || ts.isTypeAliasDeclaration(node) || ts.isInterfaceDeclaration(node)) return;
    if (ts.isBinaryExpression(node)) binary(node);
    else if (ts.isIfStatement(node) || ts.isConditionalExpression(node)) condition(node);
    else if (ts.isPrefixUnaryExpression(node)) unary(node);
    else if (ts.isNumericLiteral(node)) number(node);
    else if (node.kind === ts.SyntaxKind.TrueKeyword) add(node, 'truth', 'false');
    else if (node.kind === ts.SyntaxKind.FalseKeyword) add(node, 'truth', 'true');
    else if (ts.isCallExpression(node)) call(node);
    else if (ts.isExpressionStatement(node) && ts.isCallExpression(node.expression)) add(node, 'left out', ';', true);
    ts.forEachChild(node, visit);
  };
  const binary = (node) => {
    const operator = node.operatorToken.getText(file);
    const [left, right] = [textOf(node.left), textOf(node.right)];
    if (operator === '??') add(node, 'default', left);
    const other = OPPOSITE[operator];
    // Texts are joined by `+` too: no fault of arithmetic.
    if (other === undefined || (operator.startsWith('+') && /['`"]/.test(left + right))) return;
    add(node, 'operator', `${left} ${other} ${right}`);
  };
  const condition = (node) => {
    const test = node.expression ?? node.condition;
    add(test, 'condition', 'true');
    add(test, 'condition', 'false');
  };
  const unary = (node) => {
    if (node.operator === ts.SyntaxKind.ExclamationToken) add(node, 'not', `!!${textOf(node.operand)}`);
    if (node.operator === ts.SyntaxKind.MinusToken && !ts.isNumericLiteral(node.operand))
      add(node, 'sign', textOf(node.operand));
  };
  const number = (node) => {
    const isName = ts.isPropertyAssignment(node.parent) && node.parent.name === node;
    if (isName || ts.isLiteralTypeNode(node.parent)) return;
    const value = Number(node.text);
    add(node, 'number', String(Number.isInteger(value) && value <= 1000 ? value + 1 : value * 2));
  };
  const call = (node) => {
    if (!ts.isPropertyAccessExpression(node.expression)) return;
    const method = node.expression.name.text;
    const other = Object.hasOwn(OTHER_CALL, method) ? OTHER_CALL[method] : undefined;
    if (other === undefined) return;
    const open = textOf(node).slice(textOf(node.expression).length);
    add(node, 'call', `${textOf(node.expression.expression)}.${other}${open}`);
  };
  visit(file);
  return faults;
}

/** `count` of the faults, spread over the folders by their size (at least `least` each), none inside of another; by a seed. */
export function sampled(byFolder, count, seed, least = 6) {
  const draw = randomFrom(seed);
  const total = [...byFolder.values()].reduce((sum, faults) => sum + faults.length, 0);
  const chosen = [];
  for (const [folder, faults] of [...byFolder].sort(([a], [b]) => (a < b ? -1 : 1))) {
    const wanted = Math.max(least, Math.round((count * faults.length) / total));
    const pool = [...faults];
    const taken = [];
    while (taken.length < wanted && pool.length > 0) {
      const [fault] = pool.splice(Math.floor(draw() * pool.length), 1);
      const apart = taken.every((t) => t.path !== fault.path || t.end <= fault.start || fault.end <= t.start);
      if (apart) taken.push({ ...fault, folder });
    }
    chosen.push(...taken);
  }
  return chosen.map((fault, id) => ({ id, ...fault }));
}

/** The text of a file with these faults built in, each asleep until `globalThis.aliveFault` says its number. */
export function withFaults(text, faults) {
  let out = text;
  for (const { id, start, end, to, statement } of [...faults].sort((a, b) => b.start - a.start)) {
    const right = out.slice(start, end);
    const ask = `globalThis.aliveFault?.(${id})`;
    out =
      out.slice(0, start) +
      (statement ? `{ if (!${ask}) ${right} }` : `(${ask} ? (${to}) : (${right}))`) +
      out.slice(end);
  }
  return out;
}

/** Numbers in [0, 1) from a seed (mulberry32, public domain). */
function randomFrom(seed) {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32;
  };
}
