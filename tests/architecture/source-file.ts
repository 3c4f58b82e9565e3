import { readdirSync, readFileSync } from 'node:fs';
import { join, relative, sep } from 'node:path';
import { fileURLToPath } from 'node:url';
import ts from 'typescript';

export const root = fileURLToPath(new URL('../../', import.meta.url));

/** Built, fetched or run-time things: not ours to judge. */
const notSource = new Set(['node_modules', 'dist', 'data', 'released', '.git', 'coverage']);

/** Paths below a folder of the repository, with `/` between, sorted. */
export function filesBelow(folder = ''): string[] {
  return readdirSync(join(root, folder), { withFileTypes: true })
    .filter(({ name }) => !notSource.has(name))
    .flatMap((entry) => {
      const path = relative(root, join(root, folder, entry.name))
        .split(sep)
        .join('/');
      return entry.isDirectory() ? filesBelow(path) : [path];
    })
    .sort();
}

export interface SourceFile {
  path: string;
  text: string;
  tree: ts.SourceFile;
}

export function sourceFile(path: string, text: string): SourceFile {
  return { path, text, tree: ts.createSourceFile(path, text, ts.ScriptTarget.ES2022, true) };
}

/** Every file of code below a folder. */
export function sourceFiles(folder = ''): SourceFile[] {
  return filesBelow(folder)
    .filter((path) => /\.(ts|tsx|mjs|js)$/.test(path))
    .map((path) => sourceFile(path, readFileSync(join(root, path), 'utf8')));
}

/** Every node of a file, outer before inner; comments are none. */
export function nodesOf(node: ts.Node): ts.Node[] {
  const nodes: ts.Node[] = [];
  const add = (each: ts.Node): void => {
    nodes.push(each);
    ts.forEachChild(each, add);
  };
  add(node);
  return nodes;
}

/** Reading the whole project on a busy machine takes longer than a test usually may [ms]. */
export const wholeProject = 60_000;

export function lineOf({ tree }: SourceFile, node: ts.Node): number {
  return tree.getLineAndCharacterOfPosition(node.getStart()).line + 1;
}

export interface Import {
  specifier: string;
  line: number;
  /** Gone once compiled. */
  typeOnly: boolean;
}

/** What a file imports, re-exports or loads, by the name it writes. */
export function importsOf(file: SourceFile): Import[] {
  const imports: Import[] = [];
  for (const node of nodesOf(file.tree)) {
    const [text, typeOnly] = importedBy(node);
    if (text !== undefined) imports.push({ specifier: text, line: lineOf(file, node), typeOnly });
  }
  return imports;
}

function importedBy(node: ts.Node): [specifier: string | undefined, typeOnly: boolean] {
  if (ts.isImportDeclaration(node) && ts.isStringLiteral(node.moduleSpecifier)) {
    return [
      node.moduleSpecifier.text,
      node.importClause?.phaseModifier === ts.SyntaxKind.TypeKeyword,
    ];
  }
  if (
    ts.isExportDeclaration(node) &&
    node.moduleSpecifier &&
    ts.isStringLiteral(node.moduleSpecifier)
  ) {
    return [node.moduleSpecifier.text, node.isTypeOnly];
  }
  if (
    ts.isImportTypeNode(node) &&
    ts.isLiteralTypeNode(node.argument) &&
    ts.isStringLiteral(node.argument.literal)
  ) {
    return [node.argument.literal.text, true];
  }
  if (ts.isCallExpression(node) && node.expression.kind === ts.SyntaxKind.ImportKeyword) {
    const [argument] = node.arguments;
    return [argument && ts.isStringLiteral(argument) ? argument.text : undefined, false];
  }
  return [undefined, false];
}
