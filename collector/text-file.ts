import { readFileSync, statSync } from 'node:fs';
import { CommandProblem, problemOfFile } from './problem.ts';

/**
 * A text file, whole.
 *
 * @param expected what the file should be, in words: it ends the sentence of a refusal
 * @param mostBytes the limit; name its reason where it is passed
 * @throws CommandProblem if it is missing, no file, too large or no UTF-8 text
 */
export function readTextFile(file: string, expected: string, mostBytes: number): string {
  let bytes: Buffer;
  try {
    const { size } = statSync(file);
    if (size > mostBytes) {
      throw new CommandProblem({
        code: 'too-large',
        file,
        found: `${size} bytes`,
        expected: `at most ${mostBytes} bytes`,
      });
    }
    bytes = readFileSync(file);
  } catch (error) {
    throw error instanceof CommandProblem ? error : problemOfFile(file, error, expected);
  }
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    const line = lineOfFirstBadByte(bytes);
    throw new CommandProblem({
      code: 'no-text',
      file,
      line,
      found: 'bytes that are no UTF-8 text',
      expected: `${expected}, saved as UTF-8`,
    });
  }
}

function lineOfFirstBadByte(bytes: Buffer): number {
  const text = bytes.toString('utf8');
  const before = text.slice(0, text.indexOf('\uFFFD'));
  return before.split('\n').length;
}
