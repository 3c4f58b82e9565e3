import { posix } from 'node:path';
import { expect, test } from 'vitest';
import {
  importsOf,
  type SourceFile,
  sourceFile,
  sourceFiles,
  wholeProject,
} from './source-file.ts';

/** Who may import whom of ours, besides itself. The arrows of the picture in DEVELOPERS.md. */
const mayImport: Record<string, string[]> = {
  'shared-models': [],
  collector: ['shared-models'],
  'dashboard/server': ['shared-models'],
  'dashboard/web': ['shared-models'],
  deploy: ['shared-models'],
  tests: ['shared-models', 'collector', 'dashboard/server', 'dashboard/web', 'deploy'],
};

/** The demo's history is made by the collector itself; the demo's physics knows nothing of it. */
const drivesCollector = ['deploy/demo/first-days.ts', 'deploy/demo/people.ts'];

/** What the pure part may use; none of it reads, writes, asks the time or draws lots. */
const purePackages = ['fastest-levenshtein', 'simple-statistics', 'yaml', 'zod'];

function areaOf(path: string): string | undefined {
  return Object.keys(mayImport).find((area) => path.startsWith(`${area}/`));
}

/** Where an import leads: an area of ours, or a package. */
function targetOf(
  path: string,
  specifier: string,
): { area?: string | undefined; package?: string } {
  if (specifier.startsWith('.')) {
    return { area: areaOf(posix.join(posix.dirname(path), specifier)) };
  }
  const own = /^@setwell\/(.*)$/.exec(specifier)?.[1];
  if (own !== undefined) return { area: areaOf(own) ?? own.split('/')[0] };
  return { package: specifier };
}

function wrongImports(file: SourceFile): string[] {
  const from = areaOf(file.path);
  if (from === undefined) return [];
  return importsOf(file).flatMap(({ specifier, line }) => {
    const target = targetOf(file.path, specifier);
    const told = [`${file.path}:${line} imports ${specifier}`];
    if (target.package !== undefined) {
      return from === 'shared-models' && !purePackages.includes(target.package) ? told : [];
    }
    // Build and test settings at the top belong to nobody.
    if (target.area === undefined) return from === 'tests' ? [] : told;
    if (drivesCollector.includes(file.path) && target.area === 'collector') return [];
    return target.area === from || mayImport[from]?.includes(target.area) ? [] : told;
  });
}

test(
  'imports point one way',
  () => {
    expect(sourceFiles().flatMap(wrongImports)).toEqual([]);
  },
  wholeProject,
);

test.each([
  ['shared-models/cure/law.ts', "import { readFileSync } from 'node:fs';"],
  ['shared-models/cure/law.ts', "import mqtt from 'mqtt';"],
  ['shared-models/cure/law.ts', "import type { Clock } from '../../collector/clock.ts';"],
  ['shared-models/cure/law.ts', "export * from '@setwell/collector/clock';"],
  ['collector/intake/intake.ts', "import { view } from '../../dashboard/server/view.ts';"],
  ['dashboard/server/view.ts', "import { openJournal } from '@setwell/collector/journal/journal';"],
  ['dashboard/web/main.tsx', "const view = await import('../server/view.ts');"],
  ['deploy/demo/press.ts', "import { heat } from '@setwell/collector/cli/heat';"],
])('an import the wrong way is seen: %s: %s', (path, text) => {
  expect(wrongImports(sourceFile(path, text))).toHaveLength(1);
});

/** The files that run when one of `from` does: imports of types are gone by then. */
function runtimeClosure(files: Map<string, SourceFile>, from: string[]): Map<string, string[]> {
  const packages = new Map<string, string[]>();
  const open = [...from];
  for (let path = open.pop(); path !== undefined; path = open.pop()) {
    const file = files.get(path);
    if (file === undefined || packages.has(path)) continue;
    const runtime = importsOf(file).filter(({ typeOnly }) => !typeOnly);
    packages.set(
      path,
      runtime.map(({ specifier }) => specifier).filter((each) => !each.startsWith('.')),
    );
    for (const { specifier } of runtime) {
      if (specifier.startsWith('.')) open.push(posix.join(posix.dirname(path), specifier));
    }
  }
  return packages;
}

function packagesOfScore(files: SourceFile[]): string[] {
  const byPath = new Map(files.map((file) => [file.path, file]));
  const score = [...byPath.keys()].filter((path) => path.startsWith('shared-models/score/'));
  return [...runtimeClosure(byPath, score)].flatMap(([path, packages]) =>
    packages.map((name) => `${path} needs ${name}`),
  );
}

test(
  'a verdict runs on our own arithmetic alone: score reaches no package',
  () => {
    expect(packagesOfScore(sourceFiles('shared-models'))).toEqual([]);
  },
  wholeProject,
);

test('a package that score reaches through another folder is seen', () => {
  const files = [
    sourceFile('shared-models/score/a.ts', "import { b } from '../heat/b.ts';"),
    sourceFile(
      'shared-models/heat/b.ts',
      "import { z } from 'zod'; import type { Y } from 'yaml';",
    ),
  ];
  expect(packagesOfScore(files)).toEqual(['shared-models/heat/b.ts needs zod']);
});
