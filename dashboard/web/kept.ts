/** What this device remembers: language, theme, name. A browser that refuses to remember still works. */
export function kept(name: string): string | null {
  try {
    return localStorage.getItem(`setwell.${name}`);
  } catch {
    return null;
  }
}

export function keep(name: string, value: string): void {
  try {
    localStorage.setItem(`setwell.${name}`, value);
  } catch {
    // Private windows refuse; the choice then holds for this page.
  }
}
