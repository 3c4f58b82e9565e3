import ts from 'typescript';
import { expect, test } from 'vitest';
import {
  importsOf,
  lineOf,
  nodesOf,
  type SourceFile,
  sourceFile,
  sourceFiles,
  wholeProject,
} from './source-file.ts';

const testers = new Set(['test', 'it', 'describe', 'suite', 'bench']);
const dodges = new Set(['skip', 'only', 'todo', 'skipIf', 'runIf', 'fails']);

/** Tests that do not run, or that wait for time to pass instead of for what they want to see. */
function dishonesty(file: SourceFile): string[] {
  const sleepers = importsOf(file)
    .filter(({ specifier }) => specifier.endsWith('timers/promises'))
    .map(({ line }) => `${file.path}:${line} sleeps`);
  const rest = nodesOf(file.tree).flatMap((node) => {
    const what = dodgeOf(node) ?? sleepOf(node);
    return what === null ? [] : [`${file.path}:${lineOf(file, node)} ${what}`];
  });
  return [...sleepers, ...rest];
}

function dodgeOf(node: ts.Node): string | null {
  if (
    ts.isCallExpression(node) &&
    /^(xit|xtest|xdescribe|fit|fdescribe)$/.test(node.expression.getText())
  ) {
    return `has ${node.expression.getText()}`;
  }
  if (!ts.isPropertyAccessExpression(node) || !dodges.has(node.name.text)) return null;
  const [base] = node.expression.getText().split(/[.(]/);
  return base !== undefined && testers.has(base) ? `has ${base}.${node.name.text}` : null;
}

/** A wait inside a loop asks again and again for what it wants to see; a bare one only hopes. */
function sleepOf(node: ts.Node): string | null {
  if (!ts.isCallExpression(node)) return null;
  const called = node.expression.getText();
  if (called.endsWith('.waitForTimeout')) return 'sleeps';
  if (called !== 'setTimeout') return null;
  let above: ts.Node = node;
  let resolvesPromise = false;
  while (above.parent) {
    above = above.parent;
    if (ts.isNewExpression(above) && above.expression.getText() === 'Promise') {
      resolvesPromise = true;
      const [executor] = above.arguments ?? [];
      const resolve =
        executor && ts.isArrowFunction(executor)
          ? executor.parameters[0]?.name.getText()
          : undefined;
      const [callback] = node.arguments;
      // A deadline rejects, or does something first; a sleep only resolves.
      if (callback?.getText() !== resolve) return null;
    }
    if (ts.isIterationStatement(above, false)) return null;
  }
  return resolvesPromise ? 'sleeps' : null;
}

test(
  'every test runs, and none sleeps',
  () => {
    expect(sourceFiles('tests').flatMap(dishonesty)).toEqual([]);
  },
  wholeProject,
);

test.each([
  "test.skip('x', () => {});",
  "test.only('x', () => {});",
  "it.todo('x');",
  "describe.skip('x', () => {});",
  "test.skipIf(true)('x', () => {});",
  "test.each([1]).only('x', () => {});",
  "xit('x', () => {});",
  'await new Promise((resolve) => setTimeout(resolve, 100));',
  "import { setTimeout as sleep } from 'node:timers/promises';",
  'await page.waitForTimeout(100);',
])('a dodge is seen: %s', (text) => {
  expect(dishonesty(sourceFile('tests/x.test.ts', text))).toHaveLength(1);
});

test.each([
  'while (!(await holds())) await new Promise((resolve) => setTimeout(resolve, 5));',
  "new Promise((_, reject) => setTimeout(() => reject(new Error('late')), 100));",
  'list.only = true;',
])('what only looks like one is left alone: %s', (text) => {
  expect(dishonesty(sourceFile('tests/x.test.ts', text))).toEqual([]);
});
