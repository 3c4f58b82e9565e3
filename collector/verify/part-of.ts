/** Whether all that is said is said there too; a later release may read more out of the same file. */
export function isPartOf(said: unknown, there: unknown): boolean {
  if (typeof said !== 'object' || said === null) return said === there;
  if (typeof there !== 'object' || there === null) return false;
  if (Array.isArray(said) !== Array.isArray(there)) return false;
  if (Array.isArray(said) && said.length !== (there as unknown[]).length) return false;
  return Object.entries(said).every(([name, value]) =>
    isPartOf(value, (there as Record<string, unknown>)[name]),
  );
}
