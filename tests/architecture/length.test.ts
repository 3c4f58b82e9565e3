import ts from 'typescript';
import { expect, test } from 'vitest';
import {
  lineOf,
  nodesOf,
  type SourceFile,
  sourceFile,
  sourceFiles,
  wholeProject,
} from './source-file.ts';

const mostFileLines = 400;
const mostFunctionLines = 70;
/** Stands where the long thing begins, so that whoever reads it knows why. */
const reason = /Longer than the limit because \S/;

function tooLong(file: SourceFile): string[] {
  const lines = file.text.trimEnd().split('\n').length;
  const told: string[] = [];
  const top = file.text.split('\n').slice(0, 20).join('\n');
  if (lines > mostFileLines && !reason.test(top)) told.push(`${file.path} has ${lines} lines`);
  for (const node of nodesOf(file.tree)) {
    if (!ts.isFunctionLike(node) || !('body' in node) || !node.body || isSuite(node)) continue;
    const body = node.body as ts.Node;
    const last = file.tree.getLineAndCharacterOfPosition(body.getEnd()).line + 1;
    const length = last - lineOf(file, node) + 1;
    if (length <= mostFunctionLines || reason.test(aboveOf(file, node))) continue;
    told.push(`${file.path}:${lineOf(file, node)} has a function of ${length} lines`);
  }
  return told;
}

/** A `describe` is a chapter, no function. */
function isSuite(node: ts.Node): boolean {
  const call = node.parent;
  return ts.isCallExpression(call) && call.expression.getText().startsWith('describe');
}

/** The comment above a function or above the statement that holds it, and its first lines. */
function aboveOf(file: SourceFile, node: ts.Node): string {
  let outer = node;
  while (!ts.isStatement(outer) && !ts.isClassElement(outer) && outer.parent) outer = outer.parent;
  const first = file.text.slice(node.getStart()).split('\n').slice(0, 4).join('\n');
  return file.text.slice(outer.getFullStart(), outer.getStart()) + first;
}

test(
  'a file over 400 lines or a function over 70 says why',
  () => {
    expect(sourceFiles().flatMap(tooLong)).toEqual([]);
  },
  wholeProject,
);

const line = 'x();\n';

test.each([
  ['a long file', line.repeat(401)],
  ['a long function', `function f() {\n${line.repeat(70)}}\n`],
  ['a long arrow', `const f = () => {\n${line.repeat(70)}};\n`],
  ['a long method', `class A {\n  m() {\n${line.repeat(70)}}\n}\n`],
  ['a reason without a reason', `// Longer than the limit because \n${line.repeat(401)}`],
])('%s without a reason is seen', (_what, text) => {
  expect(tooLong(sourceFile('collector/x.ts', text))).toHaveLength(1);
});

test.each([
  ['a file of 400 lines', line.repeat(400)],
  [
    'a long file with its reason',
    `// Longer than the limit because it is one table.\n${line.repeat(400)}`,
  ],
  [
    'a long function with its reason',
    `// Longer than the limit because the steps share one state.\nfunction f() {\n${line.repeat(70)}}\n`,
  ],
  ['a suite', `describe('x', () => {\n${line.repeat(70)}});\n`],
])('%s is left alone', (_what, text) => {
  expect(tooLong(sourceFile('collector/x.ts', text))).toEqual([]);
});
