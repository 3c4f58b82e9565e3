import { spawnSync } from 'node:child_process';

/** Runs one TypeScript file against the sources, not the last build: `node deploy/run-ts.mjs file.ts …`. */
const { status } = spawnSync(
  process.execPath,
  ['--conditions=source', '--import', 'tsx', ...process.argv.slice(2)],
  { stdio: 'inherit' },
);
process.exitCode = status ?? 1;
