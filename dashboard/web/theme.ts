import { effect, signal } from '@preact/signals';
import { keep, kept } from './kept.ts';

export type Theme = 'light' | 'dark';

function firstTheme(): Theme {
  const asked = new URLSearchParams(location.search).get('theme') ?? kept('theme');
  if (asked === 'light' || asked === 'dark') return asked;
  return matchMedia('(prefers-color-scheme: dark)').matches ? 'dark' : 'light';
}

/** Set per device; never changed by itself, least of all in the middle of a shift. */
export const theme = signal<Theme>(firstTheme());

export function setTheme(next: Theme): void {
  keep('theme', next);
  theme.value = next;
}

effect(() => {
  document.documentElement.dataset['theme'] = theme.value;
});
