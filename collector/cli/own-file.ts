import type { Read } from '@setwell/shared-models/plant/finding';
import { CommandProblem } from '../problem.ts';
import { readTextFile } from '../text-file.ts';

/** A plant of 20,000 points takes 8 MiB; nothing else of ours comes near. */
export const mostOwnBytes = 16 * 1024 * 1024;

/**
 * One of our own YAML or JSON files, as what it means.
 *
 * @param read a reader of `shared-models/plant`, such as `readRecipe`
 * @param what the file in words: "a recipe"
 * @throws CommandProblem for the first error in it
 */
export function readOwnFile<T>(
  file: string,
  read: (text: string, file: string) => Read<T>,
  what: string,
): T {
  const answer = read(readTextFile(file, what, mostOwnBytes), file);
  if (answer.ok) return answer.value;
  const first = answer.findings.find((finding) => finding.severity === 'error');
  if (first === undefined) throw new Error(`${file} is refused without a reason`);
  const { code, line, field, found, expected, nearest } = first;
  throw new CommandProblem({
    code,
    file,
    line,
    field,
    found,
    expected: nearest === undefined ? expected : `${nearest}; ${expected}`,
  });
}
