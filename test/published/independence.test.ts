/**
 * That the program is held against something other than itself: the second solution uses nothing of it, what compares the
 * two and the published checks use what the package exports and no more, and every figure expected is a number written
 * down, not one computed by what it checks.
 */
import { readdirSync, readFileSync } from 'node:fs';
import ts from 'typescript';
import { expect, test } from 'vitest';

const root = new URL('../../', import.meta.url);
const parsed = (file: string): ts.SourceFile =>
  ts.createSourceFile(file, readFileSync(new URL(file, root), 'utf8'), ts.ScriptTarget.Latest, true);
const filesIn = (folder: string): string[] => readdirSync(new URL(folder, root)).map((name) => `${folder}${name}`);

function each(node: ts.Node, visit: (node: ts.Node) => void): void {
  visit(node);
  ts.forEachChild(node, (child) => each(child, visit));
}

/** Whatever a file takes from elsewhere: import and export declarations, import(), require() and the like. */
function taken(file: ts.SourceFile): string[] {
  const from: string[] = [];
  each(file, (node) => {
    if ((ts.isImportDeclaration(node) || ts.isExportDeclaration(node)) && node.moduleSpecifier !== undefined)
      from.push((node.moduleSpecifier as ts.StringLiteral).text);
    if (ts.isImportTypeNode(node)) from.push(node.argument.getText());
    if (!ts.isCallExpression(node)) return;
    const what = node.expression.getText();
    if (what === 'import' || what === 'require' || what.startsWith('createRequire('))
      for (const argument of node.arguments) from.push(ts.isStringLiteral(argument) ? argument.text : 'not a literal');
  });
  return from;
}

test('the second solution takes nothing of the program', () => {
  const folder = 'test/engine/second/';
  const own = filesIn(folder).filter((file) => !file.endsWith('compare.ts'));
  expect(own.length).toBeGreaterThan(5);
  for (const file of own) {
    const others = taken(parsed(file)).filter((from) => !/^\.\/\w+\.ts$/.test(from));
    expect(others, file).toEqual(file.endsWith('odex.ts') ? ['node:module', 'odex'] : []);
  }
  // Nor by way of the one that runs both.
  for (const file of own) expect(taken(parsed(file)), file).not.toContain('./compare.ts');
});

test('what compares the two takes the public entry alone', () => {
  const entry = '../../../scenarios/index.ts';
  const from = taken(parsed('test/engine/second/compare.ts'));
  expect(from.filter((path) => !/^\.\/\w+\.ts$/.test(path))).toEqual([entry]);
  expect(taken(parsed('test/engine/secondSolution.test.ts')).filter((path) => !path.startsWith('./second/'))).toEqual([
    'vitest',
  ]);
});

test('the published checks take only what the package exports', () => {
  const exported = ['../index.ts', '../../models/index.ts', '../../sim/index.ts'];
  for (const file of filesIn('scenarios/checks/')) {
    const others = taken(parsed(file)).filter((from) => !/^\.\/\w+\.ts$/.test(from) && !exported.includes(from));
    expect(others, file).toEqual([]);
  }
  const allowed = /^(node:fs|vitest|typescript|tripstroke\/checks)$/;
  for (const file of filesIn('test/published/').filter((name) => name.endsWith('.ts')))
    expect(
      taken(parsed(file)).filter((from) => !allowed.test(from)),
      file,
    ).toEqual([]);
});

/** Without parentheses and "as const". */
function bare(node: ts.Expression): ts.Expression {
  return ts.isParenthesizedExpression(node) || ts.isAsExpression(node) ? bare(node.expression) : node;
}

const isNumber = (node: ts.Node | undefined): boolean =>
  node !== undefined &&
  (ts.isNumericLiteral(node) ||
    (ts.isPrefixUnaryExpression(node) && ts.isNumericLiteral(node.operand)) ||
    (ts.isIdentifier(node) && node.text === 'undefined'));

/** The expressions that a parameter of an enclosing function stands for: arguments of its calls, or columns of a table. */
function meanings(name: ts.Identifier): (ts.Node | undefined)[] {
  for (let at: ts.Node = name; at.parent !== undefined; at = at.parent) {
    if (!ts.isArrowFunction(at)) continue;
    for (const [i, { name: bound }] of at.parameters.entries()) {
      if (ts.isIdentifier(bound) && bound.text === name.text && ts.isVariableDeclaration(at.parent)) {
        const helper = at.parent.name.getText();
        const given: (ts.Node | undefined)[] = [];
        each(name.getSourceFile(), (node) => {
          if (ts.isCallExpression(node) && node.expression.getText() === helper) given.push(node.arguments[i]);
        });
        return given;
      }
      if (!ts.isArrayBindingPattern(bound)) continue;
      const column = bound.elements.findIndex((e) => !ts.isOmittedExpression(e) && e.name.getText() === name.text);
      if (column < 0 || !ts.isCallExpression(at.parent)) continue;
      const table = bare((at.parent.expression as ts.PropertyAccessExpression).expression);
      if (!ts.isArrayLiteralExpression(table)) return [undefined];
      return table.elements.map((row) => (ts.isArrayLiteralExpression(row) ? row.elements[column] : undefined));
    }
  }
  return [undefined];
}

test('every figure expected is a number written down', () => {
  let figures = 0;
  for (const file of filesIn('scenarios/checks/')) {
    each(parsed(file), (node) => {
      if (!ts.isCallExpression(node) || node.expression.getText() !== 'figure') return;
      figures++;
      const expected = node.arguments[2];
      const all = ts.isIdentifier(expected) ? meanings(expected) : [expected];
      expect(
        all.length > 0 && all.every(isNumber),
        `${file}: ${node.arguments[0].getText()}: ${expected.getText()}`,
      ).toBe(true);
    });
  }
  expect(figures).toBeGreaterThan(200);
});
