/** 1: findings; 2: bad input; 3: the environment. 0 is an answer, whatever it says. */
export type FailureExit = 1 | 2 | 3;

export interface ProblemDetails {
  /** Stable name of what is wrong, for scripts. */
  code: string;
  file?: string | null;
  /** Numbered from 1. */
  line?: number | null;
  /** Column, key or option. */
  field?: string | null;
  found: string;
  expected: string;
  exit?: FailureExit;
}

/** What is wrong with a command's input or surroundings. Thrown by a command, told once by `main`. */
export class CommandProblem extends Error {
  readonly code: string;
  readonly file: string | null;
  readonly line: number | null;
  readonly field: string | null;
  readonly found: string;
  readonly expected: string;
  readonly exit: FailureExit;

  constructor(details: ProblemDetails) {
    const { code, file = null, line = null, field = null, found, expected, exit = 2 } = details;
    const where = [file, line === null ? null : `line ${line}`, field].filter(
      (part) => part !== null,
    );
    super(`${where.length > 0 ? `${where.join(', ')}: ` : ''}found ${found}; expected ${expected}`);
    this.name = 'CommandProblem';
    this.code = code;
    this.file = file;
    this.line = line;
    this.field = field;
    this.found = found;
    this.expected = expected;
    this.exit = exit;
  }

  /** The document of `--json`. */
  document(): object {
    return {
      error: {
        code: this.code,
        file: this.file,
        ...(this.line === null ? {} : { line: this.line }),
        ...(this.field === null ? {} : { field: this.field }),
        found: this.found,
        expected: this.expected,
      },
    };
  }
}

/** A failure of the operating system, told as what it means to the person who typed the command. */
export function problemOfFile(file: string, error: unknown, expected: string): CommandProblem {
  const code = (error as NodeJS.ErrnoException).code ?? 'unreadable';
  switch (code) {
    case 'ENOENT':
    case 'ENOTDIR':
      return new CommandProblem({ code: 'no-such-file', file, found: 'no such file', expected });
    case 'EISDIR':
      return new CommandProblem({ code: 'no-file', file, found: 'a folder', expected });
    default:
      return new CommandProblem({ code: 'unreadable', file, found: code, expected, exit: 3 });
  }
}
