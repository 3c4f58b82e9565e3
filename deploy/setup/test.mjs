import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { build, staleTargets } from './build.mjs';
import { installPackages, missingPackages } from './debian.mjs';
import { SetupFailure } from './failure.mjs';
import { machineFault, thisMachine } from './machine.mjs';
import {
  buildDatabaseModule,
  hasDatabaseModule,
  installLocked,
  stalePackages,
} from './packages.mjs';
import { runProgram } from './program.mjs';
import { Steps } from './steps.mjs';

/**
 * Checks that need no run of the program; each counts as one.
 *
 * @typedef {{ name: string, command: string[] }} Check
 * @type {Check}
 */
const types = { name: 'types', command: ['node_modules/typescript/bin/tsc', '-b'] };
/** After the types, one list beside the other: lint takes as long as the rest together. @type {Check[][]} */
const besideEachOther = [
  [{ name: 'lint', command: ['node_modules/eslint/bin/eslint.js', '.'] }],
  [
    { name: 'format', command: ['node_modules/prettier/bin/prettier.cjs', '--check', '.'] },
    { name: 'unused code', command: ['node_modules/knip/bin/knip.js'] },
  ],
];

/**
 * Sets up what is missing, then runs everything that CI runs.
 *
 * @param {string} folder the clone
 * @param {string[]} filters passed on to the test runner
 * @returns {Promise<number>} exit code; the last line printed is `N passed, N failed`
 */
export async function test(folder, filters) {
  const out = process.stdout;
  let counts = { passed: 0, failed: 1 };
  try {
    const compile = await setUp(folder, new Steps(out));
    // No check needs the database module, and one core compiles it.
    [counts] = await Promise.all([runStaticChecks(folder), compile()]);
    const unit = await runTests(folder, filters);
    counts.passed += unit.passed;
    counts.failed += unit.failed;
  } catch (error) {
    process.stderr.write(
      error instanceof SetupFailure ? error.text() : `${/** @type {Error} */ (error).stack}\n`,
    );
    counts.failed = Math.max(1, counts.failed);
  }
  out.write(`${counts.passed} passed, ${counts.failed} failed\n`);
  return counts.failed > 0 ? 1 : 0;
}

/**
 * Installs what is missing.
 *
 * @param {string} folder
 * @param {Steps} steps
 * @returns {Promise<() => Promise<void>>} compiles the database module, where it has to be
 */
async function setUp(folder, steps) {
  const fault = machineFault(thisMachine(folder));
  if (fault) throw fault;
  const debian = await missingPackages('tests');
  const packages = stalePackages(folder);
  const plan = [
    ...(debian.length > 0
      ? [
          {
            title: 'Debian packages',
            usually: debian.join(' '),
            run: (/** @type {(detail: string) => void} */ say) => installPackages(debian, say),
          },
        ]
      : []),
    ...(packages.length > 0
      ? [
          {
            title: 'packages',
            usually: `${packages.length} to fetch, about half a minute`,
            usuallyS: 30,
            run: (/** @type {(detail: string) => void} */ say) => installLocked(folder, say),
          },
        ]
      : []),
  ];
  const compiling =
    packages.length > 0 || !hasDatabaseModule(folder)
      ? [{ title: 'database module', usually: 'compiles once, about two minutes', usuallyS: 120 }]
      : [];
  steps.announce([...plan, ...compiling]);
  for (const { title, run } of plan) await steps.run(title, run);
  return async () => {
    for (const { title } of compiling) {
      await steps.run(title, (say) => buildDatabaseModule(folder, say));
    }
  };
}

/** @param {string} folder */
async function runStaticChecks(folder) {
  const counts = { passed: 0, failed: 0 };
  const count = (/** @type {string} */ name, /** @type {string | null} */ fault) => {
    process.stdout.write(`${fault === null ? 'ok     ' : 'FAILED '} ${name}\n`);
    if (fault !== null) process.stdout.write(`${fault}\n`);
    counts[fault === null ? 'passed' : 'failed'] += 1;
  };
  count('build', await buildFault(folder));
  const run = async (/** @type {Check[]} */ checks) => {
    for (const { name, command } of checks) {
      const { code, said } = await runProgram(process.execPath, command, { cwd: folder });
      count(name, code === 0 ? null : said);
    }
  };
  await run([types]);
  await Promise.all(besideEachOther.map(run));
  return counts;
}

/** The build is what `npm start` runs; the tests of other parts are worth their run even when it fails. */
async function buildFault(/** @type {string} */ folder) {
  try {
    await build(folder, staleTargets(folder), () => {});
    return null;
  } catch (error) {
    if (!(error instanceof SetupFailure)) throw error;
    return error.text();
  }
}

/** @param {string} folder @param {string[]} filters */
async function runTests(folder, filters) {
  const scratch = mkdtempSync(join(tmpdir(), 'setwell-test-'));
  const reportFile = join(scratch, 'report.json');
  try {
    const { code } = await runProgram(
      process.execPath,
      [
        'node_modules/vitest/vitest.mjs',
        'run',
        ...['--config', 'tests/vitest.config.ts'],
        ...['--reporter', 'default', '--reporter', 'json', '--outputFile.json', reportFile],
        ...filters,
      ],
      { cwd: folder, show: true },
    );
    return countsOf(JSON.parse(readFileSync(reportFile, 'utf8')), code);
  } finally {
    rmSync(scratch, { recursive: true, force: true });
  }
}

/**
 * Counts of a run. A file that cannot be loaded has no tests to fail, and an error outside of every
 * test fails none: each of them counts as one all the same.
 *
 * @param {{ numPassedTests: number, numTotalTests: number, testResults: { status: string, assertionResults: unknown[] }[] }} report
 * @param {number} code exit code of the runner
 */
export function countsOf(report, code) {
  const unloaded = report.testResults.filter(
    ({ status, assertionResults }) => status === 'failed' && assertionResults.length === 0,
  ).length;
  // Whatever did not pass has failed: nothing here is skipped on purpose.
  const failed = report.numTotalTests - report.numPassedTests + unloaded;
  return { passed: report.numPassedTests, failed: failed === 0 && code !== 0 ? 1 : failed };
}
