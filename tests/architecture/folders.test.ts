import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { filesBelow, root } from './source-file.ts';

/** The folder list is the data path; a new folder is a decision. */
const folders: Record<string, string[]> = {
  'shared-models': [
    ...['units', 'plant', 'metrology', 'heat', 'cure', 'score', 'released'],
    ...['forecast', 'condition', 'call', 'record', 'api'],
  ],
  collector: [
    ...['intake', 'journal', 'judge', 'condition', 'ledger', 'advice', 'serve'],
    ...['uplink', 'notify', 'export', 'verify', 'cli'],
  ],
  dashboard: ['server', 'web', 'pictures'],
  tests: [
    ...['published', 'bounds', 'contract', 'simulation', 'faults', 'browser'],
    ...['released', 'bench', 'architecture', 'fixtures'],
  ],
};

const topLevel = [
  ...['.ci', 'collector', 'dashboard', 'deploy', 'docs', 'shared-models', 'tests'],
  ...['README.md', 'DEVELOPERS.md', 'LICENSE', 'package.json', 'package-lock.json'],
  ...['tsconfig.json', 'eslint.config.js', '.gitignore', '.prettierignore', '.prettierrc.json'],
];

/** Names that say nothing about what is inside. */
const emptyNames = /^(index|utils?|helpers?|common|managers?|services?|misc|shared)(\.|$)/;

function strayFolders(paths: string[]): string[] {
  return paths.filter((path) => {
    const [top = '', second, third] = path.split('/');
    if (!topLevel.includes(top)) return true;
    const known = folders[top];
    return known !== undefined && third !== undefined && !known.includes(second ?? '');
  });
}

function emptyNamed(paths: string[]): string[] {
  return paths.filter((path) =>
    path
      .split('/')
      // A page's entry has the name that browsers ask for.
      .some((part) => emptyNames.test(part) && part !== 'index.html'),
  );
}

test('every folder is one of the list, and nothing lies about at the top', () => {
  expect(strayFolders(filesBelow())).toEqual([]);
});

test('a stray folder or file is seen', () => {
  const stray = ['shared-models/utils/x.ts', 'collector/core/x.ts', 'notes.txt', 'src/x.ts'];
  expect(strayFolders([...stray, 'collector/clock.ts', 'deploy/any/x.ts'])).toEqual(stray);
});

test('every file has a noun for its name', () => {
  expect(emptyNamed(filesBelow())).toEqual([]);
});

test('an empty name is seen', () => {
  const empty = ['collector/utils.ts', 'shared-models/helper/x.ts', 'deploy/index.ts'];
  expect(emptyNamed([...empty, 'dashboard/web/index.html'])).toEqual(empty);
});

/** What a text of ours must not know: the machine it was made on, a registry, a list of tasks. */
const foreign = [
  /(^|[\s'"(`])\/(root|home|Users)\/\w/,
  /https?:\/\/(?!127\.0\.0\.1)[^"\s]*\.tgz/,
  /\bissues? #?\d/i,
];

function foreignLines(path: string, text: string): string[] {
  return text
    .split('\n')
    .flatMap((line, index) =>
      foreign.some((pattern) => pattern.test(line)) ? [`${path}:${index + 1} ${line.trim()}`] : [],
    );
}

test('the project speaks of itself alone', () => {
  const texts = filesBelow().filter((path) => !/\.(png|jpg|ttf|woff2?|ico|zip|pdf)$/.test(path));
  const others = texts.filter((path) => !path.startsWith('tests/architecture/folders'));
  expect(
    others.flatMap((path) => foreignLines(path, readFileSync(join(root, path), 'utf8'))),
  ).toEqual([]);
});

test.each([
  '"resolved": "https://packages.example/zod/-/zod-4.tgz"',
  '// see issue 12',
  "const file = '/root/x';",
])('a foreign word is seen: %s', (text) => {
  expect(foreignLines('x', text)).toHaveLength(1);
});

/** Documents of ours are named by their file: a name that leads nowhere is somebody else's. */
function missingDocuments(path: string, text: string, known: Set<string>): string[] {
  return [...text.matchAll(/[\w-]+\.md\b/g)]
    .map(([name]) => name)
    .filter((name) => !known.has(name))
    .map((name) => `${path} names ${name}`);
}

const documents = new Set(
  filesBelow()
    .map((path) => path.split('/').at(-1) ?? path)
    .filter((name) => name.endsWith('.md')),
);

test('every document that a text names exists', () => {
  const texts = filesBelow().filter((path) => /\.(ts|tsx|mjs|js|md|yaml|html)$/.test(path));
  const others = texts.filter((path) => !path.startsWith('tests/architecture/folders'));
  expect(
    others.flatMap((path) =>
      missingDocuments(path, readFileSync(join(root, path), 'utf8'), documents),
    ),
  ).toEqual([]);
});

test('a document that does not exist is seen', () => {
  expect(missingDocuments('x.ts', '// see plans.md and README.md', documents)).toEqual([
    'x.ts names plans.md',
  ]);
});

test('the workspaces are the folders that hold a package', () => {
  const { workspaces } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as {
    workspaces: string[];
  };
  const packages = readdirSync(root, { withFileTypes: true })
    .filter((entry) => entry.isDirectory() && entry.name !== 'node_modules')
    .filter(({ name }) => readdirSync(join(root, name)).includes('package.json'))
    .map(({ name }) => name);
  expect([...workspaces].sort()).toEqual(packages.sort());
});
