#!/usr/bin/env node
import { runSetwell } from './program.ts';

process.exitCode = await runSetwell(process.argv.slice(2), {
  out: (words) => process.stdout.write(words),
  err: (words) => process.stderr.write(words),
});
