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

/** Globals that tell the time, draw lots, reach out or differ from machine to machine. */
const impure = new Set([
  ...['Date', 'performance', 'Intl', 'Temporal', 'process', 'console', 'crypto', 'navigator'],
  ...['fetch', 'XMLHttpRequest', 'WebSocket', 'EventSource', 'localStorage', 'indexedDB'],
  ...['setTimeout', 'setInterval', 'setImmediate', 'queueMicrotask', 'requestAnimationFrame'],
  ...['globalThis', 'require', 'eval', 'WeakRef', 'FinalizationRegistry', 'SharedArrayBuffer'],
]);

/** Folders whose results must be the same bits on every machine and Node. */
const exactFolders = ['units', 'plant', 'metrology', 'heat', 'cure', 'score'];
const exactMath = ['abs', 'min', 'max', 'floor', 'ceil', 'trunc', 'sign', 'sqrt'];

function impurities(file: SourceFile): string[] {
  const exact = exactFolders.some((folder) => file.path.startsWith(`shared-models/${folder}/`));
  const declared = declaredNames(file);
  return nodesOf(file.tree).flatMap((node) => {
    const what = impurityOf(node, declared, exact);
    return what === null ? [] : [`${file.path}:${lineOf(file, node)} uses ${what}`];
  });
}

function impurityOf(node: ts.Node, declared: Set<string>, exact: boolean): string | null {
  if (ts.isIdentifier(node) && impure.has(node.text) && isReference(node)) {
    return declared.has(node.text) ? null : node.text;
  }
  if (ts.isPropertyAccessExpression(node)) {
    const name = node.name.text;
    if (name.startsWith('toLocale') || name === 'localeCompare') return name;
    if (!ts.isIdentifier(node.expression) || node.expression.text !== 'Math') return null;
    return name === 'random' || (exact && !exactMath.includes(name)) ? `Math.${name}` : null;
  }
  if (ts.isIdentifier(node) && node.text === 'Math' && isReference(node)) {
    // `const { exp } = Math` and `Math['exp']` would walk past the rule above.
    const { parent } = node;
    return ts.isPropertyAccessExpression(parent) || ts.isTypeQueryNode(parent)
      ? null
      : 'Math whole';
  }
  if (exact && node.kind === ts.SyntaxKind.AsteriskAsteriskToken) return '**';
  if (exact && node.kind === ts.SyntaxKind.AsteriskAsteriskEqualsToken) return '**=';
  return ts.isMetaProperty(node) ? node.getText() : null;
}

/** Whether an identifier stands for a variable, and not for a key of something. */
function isReference(node: ts.Identifier): boolean {
  const { parent } = node;
  if (ts.isPropertyAccessExpression(parent)) return parent.expression === node;
  if (ts.isQualifiedName(parent)) return false;
  const namesKey =
    ts.isPropertyAssignment(parent) ||
    ts.isPropertySignature(parent) ||
    ts.isPropertyDeclaration(parent) ||
    ts.isMethodDeclaration(parent) ||
    ts.isMethodSignature(parent);
  return !(namesKey && parent.name === node);
}

function declaredNames(file: SourceFile): Set<string> {
  const names = new Set<string>();
  for (const node of nodesOf(file.tree)) {
    const declares =
      ts.isVariableDeclaration(node) ||
      ts.isParameter(node) ||
      ts.isFunctionDeclaration(node) ||
      ts.isBindingElement(node) ||
      ts.isImportSpecifier(node);
    if (declares && node.name && ts.isIdentifier(node.name)) names.add(node.name.text);
  }
  return names;
}

test(
  'the shared models touch no clock, chance, input, output or locale, and no inexact arithmetic',
  () => {
    expect(sourceFiles('shared-models').flatMap(impurities)).toEqual([]);
  },
  wholeProject,
);

test.each([
  'const now = Date.now();',
  'const t = performance.now();',
  'const x = Math.random();',
  'export const y = Math.exp(1);',
  'const { exp } = Math;',
  "const e = Math['exp'](1);",
  'const z = 2 ** 3;',
  'let a = 2; a **= 3;',
  'const s = (1.5).toLocaleString();',
  "const c = 'a'.localeCompare('b');",
  "const f = new Intl.NumberFormat('de');",
  'setTimeout(() => {}, 1);',
  "const home = process.env['HOME'];",
  "void fetch('http://x');",
  'const here = import.meta.url;',
  'const all = { Date };',
])('an impurity is seen: %s', (text) => {
  expect(impurities(sourceFile('shared-models/heat/x.ts', text))).not.toEqual([]);
});

test.each([
  'interface Certificate { Date: string }',
  'const process = (x: number) => x; process(1);',
  'const root = Math.sqrt(2);',
  '/** Like Math.exp, by Date. */ const one = 1;',
])('what only looks impure is left alone: %s', (text) => {
  expect(impurities(sourceFile('shared-models/heat/x.ts', text))).toEqual([]);
});
