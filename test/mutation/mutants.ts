/**
 * Wrong programs: one small change at one place of a source file, found in its syntax tree.
 *
 * Left alone by rule: types, imports, what has no logic (parameter tables and other declarations with `meaning:` in them,
 * strings, closed lists of codes written `as const`), assertions and the throwing of faults, and the counting of a loop.
 */
import ts from 'typescript';

export interface Mutant {
  readonly file: string;
  /** From 1. */
  readonly line: number;
  readonly kind: 'arithmetic' | 'boundary' | 'logic' | 'constant' | 'removed' | 'min and max';
  /** The text from `start` to `end` is replaced. */
  readonly start: number;
  readonly end: number;
  readonly replacement: string;
  /** File and line of text with the change in it, `a [+ -> -] b`: names it whatever moves above. */
  readonly name: string;
  /** The expression in which it lies, for noting that it was reached. */
  readonly around: readonly [number, number];
}

const OPERATORS: Partial<Record<string, readonly [Mutant['kind'], string]>> = {
  '+': ['arithmetic', '-'],
  '-': ['arithmetic', '+'],
  '*': ['arithmetic', '/'],
  '/': ['arithmetic', '*'],
  '**': ['arithmetic', '*'],
  '%': ['arithmetic', '*'],
  '+=': ['arithmetic', '-='],
  '-=': ['arithmetic', '+='],
  '*=': ['arithmetic', '/='],
  '/=': ['arithmetic', '*='],
  '<': ['boundary', '<='],
  '<=': ['boundary', '<'],
  '>': ['boundary', '>='],
  '>=': ['boundary', '>'],
  '===': ['logic', '!=='],
  '!==': ['logic', '==='],
  '&&': ['logic', '||'],
  '||': ['logic', '&&'],
};

/** Every mutant of a source file, in the order of the text. */
export function mutantsOf(file: string, text: string): Mutant[] {
  const source = ts.createSourceFile(file, text, ts.ScriptTarget.ES2023, true);
  const found: Mutant[] = [];
  const add = (kind: Mutant['kind'], from: number, to: number, replacement: string, around: ts.Node): void => {
    found.push({
      file,
      line: source.getLineAndCharacterOfPosition(from).line + 1,
      kind,
      start: from,
      end: to,
      replacement,
      name: `${file}: ${nameOf(text, from, to, replacement)}`,
      around: [around.getStart(source), around.end],
    });
  };
  const replace = (kind: Mutant['kind'], node: ts.Node, replacement: string, around = node) =>
    add(kind, node.getStart(source), node.end, replacement, around);

  const visit = (node: ts.Node): void => {
    if (hasNoLogic(node, source)) return;
    if (ts.isBinaryExpression(node)) {
      const change = OPERATORS[node.operatorToken.getText(source)];
      const joinsText = [node.left, node.right].some(
        (side) => ts.isStringLiteralLike(side) || ts.isTemplateExpression(side),
      );
      if (change !== undefined && !joinsText) replace(change[0], node.operatorToken, change[1], node);
    } else if (ts.isPrefixUnaryExpression(node)) {
      const operand = `(${node.operand.getText(source)})`;
      if (node.operator === ts.SyntaxKind.MinusToken) replace('arithmetic', node, operand);
      if (node.operator === ts.SyntaxKind.ExclamationToken) replace('logic', node, operand);
    } else if (ts.isNumericLiteral(node) && (node.parent as ts.PropertyAssignment).name !== node) {
      replace('constant', node, otherNumber(Number(node.text)));
    } else if (node.kind === ts.SyntaxKind.TrueKeyword || node.kind === ts.SyntaxKind.FalseKeyword) {
      replace('constant', node, node.kind === ts.SyntaxKind.TrueKeyword ? 'false' : 'true');
    } else if (ts.isConditionalExpression(node)) {
      replace('logic', node.condition, `!(${node.condition.getText(source)})`);
    } else if (ts.isIfStatement(node)) {
      replace('logic', node.expression, `!(${node.expression.getText(source)})`);
      replace('removed', node.expression, 'false');
    } else if (ts.isExpressionStatement(node) && !hasNoLogic(node.expression, source)) {
      replace('removed', node.expression, 'undefined');
    } else if (ts.isCallExpression(node) && /^Math\.(min|max)$/.test(node.expression.getText(source))) {
      const swapped = node.expression.getText(source) === 'Math.min' ? 'Math.max' : 'Math.min';
      replace('min and max', node.expression, swapped, node);
    }
    ts.forEachChild(node, visit);
  };
  visit(source);
  return found.sort((a, b) => a.start - b.start || a.end - b.end);
}

function nameOf(text: string, from: number, to: number, replacement: string): string {
  const lineStart = text.lastIndexOf('\n', from) + 1;
  const lineEnd = text.indexOf('\n', to);
  const [original, put] = [text.slice(from, to), replacement].map((t) => (t.length > 40 ? `${t.slice(0, 40)}...` : t));
  return `${text.slice(lineStart, from)}[${original} -> ${put}]${text.slice(to, lineEnd)}`.replace(/\s+/g, ' ').trim();
}

const otherNumber = (n: number): string => (n === 0 ? '1' : String(Number.isInteger(n) ? n + 1 : n * 1.01));

function hasNoLogic(node: ts.Node, source: ts.SourceFile): boolean {
  if (ts.isTypeNode(node) || ts.isInterfaceDeclaration(node) || ts.isTypeAliasDeclaration(node)) return true;
  if (ts.isImportDeclaration(node) || ts.isExportDeclaration(node) || ts.isThrowStatement(node)) return true;
  if (ts.isCallExpression(node) && node.expression.getText(source) === 'assert') return true;
  if (ts.isForStatement(node.parent ?? node) && (node.parent as ts.ForStatement).incrementor === node) return true;
  if (ts.isVariableStatement(node) && ts.isSourceFile(node.parent)) {
    const text = node.getText(source);
    return /\bmeaning\b/.test(text) || /\} as const;$/.test(text);
  }
  return false;
}

/** The text with one mutant in it. */
export const mutated = (text: string, { start, end, replacement }: Mutant): string =>
  text.slice(0, start) + replacement + text.slice(end);

/** The text unchanged in what it does, but for setting `reached[id]` wherever one of these mutants of it would act. */
export function noting(text: string, mutants: readonly (readonly [id: number, mutant: Mutant])[]): string {
  const inserts = mutants.flatMap(([id, { around }]) => [
    { at: around[0], opens: 1, length: around[1] - around[0], text: `(reached[${id}] = 1, ` },
    { at: around[1], opens: 0, length: 0, text: ')' },
  ]);
  // Where pieces meet, what ends comes before what begins, and the longer begins first.
  inserts.sort((a, b) => b.at - a.at || b.opens - a.opens || a.length - b.length);
  let out = text;
  for (const { at, text: piece } of inserts) out = out.slice(0, at) + piece + out.slice(at);
  return out;
}
