import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build, staleTargets } from '../../deploy/setup/build.mjs';

const root = fileURLToPath(new URL('../..', import.meta.url));

/**
 * Builds the pages as `npm start` does, if their sources have changed since: before the first test, for
 * all of them.
 *
 * @returns the folder that they are built into
 */
export async function buildPages(): Promise<string> {
  const stale = staleTargets(root).filter(({ name }) => name === 'pages');
  await build(root, stale, () => {});
  return join(root, 'dashboard/dist/web');
}

/** Before the first test of a run. */
export default async (): Promise<void> => {
  await buildPages();
};
