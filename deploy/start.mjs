#!/usr/bin/env node
// Plain enough to be read by a Node that is too old: it must be able to say so.
const leastNodeMajor = 20;

if (Number.parseInt(process.versions.node, 10) < leastNodeMajor) {
  process.stderr.write(
    'Cannot go on: Node ' +
      process.versions.node +
      ' is too old: Setwell needs Node 20 or newer.\n' +
      '  Safe   nothing was changed.\n' +
      '  To do  install Node 20 or newer (https://nodejs.org/en/download), then start again.\n',
  );
  process.exitCode = 3;
} else {
  import('./setup/start.mjs').then(async ({ start }) => {
    const { fileURLToPath } = await import('node:url');
    process.exitCode = await start(
      fileURLToPath(new URL('..', import.meta.url)).replace(/\/$/, ''),
      process.argv.slice(2),
    );
  });
}
