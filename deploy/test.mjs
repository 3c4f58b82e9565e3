#!/usr/bin/env node
import { fileURLToPath } from 'node:url';
import { test } from './setup/test.mjs';

const folder = fileURLToPath(new URL('..', import.meta.url)).replace(/\/$/, '');
process.exitCode = await test(folder, process.argv.slice(2));
