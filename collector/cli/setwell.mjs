#!/usr/bin/env node
import { existsSync } from 'node:fs';

// The package manager links the command at installation, when nothing is built yet: this file is there.
const program = new URL('../dist/cli/main.js', import.meta.url);

if (existsSync(program)) {
  await import(program.href);
} else {
  process.stderr.write(
    'Cannot go on: Setwell is not built yet: collector/dist/cli/main.js is missing.\n' +
      '  Safe   nothing was changed.\n' +
      '  To do  npm start   builds and runs it; npm run build   builds it only.\n',
  );
  process.exitCode = 3;
}
