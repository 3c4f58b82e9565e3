import type { Command } from 'commander';
import { answered } from './answer.ts';

export function registerCheck(program: Command): void {
  program
    .command('check')
    .description('find what is wrong in plant and recipe files')
    .argument('[file...]', 'files, or folders with a plant.yaml and recipes', ['.'])
    .action(answered((files: string[]) => ({ document: [], text: `${files.length} files` })));
}
