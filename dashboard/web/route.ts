import { signal } from '@preact/signals';

/** The address without its query. */
export const path = signal(location.pathname);

addEventListener('popstate', () => {
  path.value = location.pathname;
});

/** Goes to an address of this page without loading it anew; query and language stay. */
export function go(to: string): void {
  history.pushState(null, '', to + location.search);
  path.value = location.pathname;
  scrollTo(0, 0);
  document.getElementById('content')?.focus();
}

/** The screen of a load. */
export const loadAddress = (load: string): string => `/load/${encodeURIComponent(load)}`;

/** Goes on to another address in place of this one: the way back leads past it. */
export function replace(to: string): void {
  history.replaceState(null, '', to + location.search);
  path.value = location.pathname;
}

/** Links of our own are followed here; new tabs, downloads and other sites stay the browser's. */
addEventListener('click', (event) => {
  const link = (event.target as Element | null)?.closest('a');
  if (link === null || link === undefined || event.defaultPrevented || event.button !== 0) return;
  if (event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
  if (link.origin !== location.origin || link.hasAttribute('download') || link.target !== '')
    return;
  if (link.hash !== '' && link.pathname === location.pathname) return;
  event.preventDefault();
  go(link.pathname);
});
