/** Something that `doctor` has found to be not as it should be. */
export interface Symptom {
  /** Stable name, for scripts. */
  code: string;
  /** A file, a server, the machine. */
  where: string;
  found: string;
  expected: string;
}
