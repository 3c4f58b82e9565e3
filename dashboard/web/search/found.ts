import type { Found, Searched } from '@setwell/shared-models/api/search';
import { ask } from '../ask.ts';
import { go, loadAddress } from '../route.ts';
import { scannerLayout } from '../scan/scanner.ts';

/** The address of a search. */
const searchAddress = (text: string): string => `/search/${encodeURIComponent(text)}`;

/** Where a thing's page is. */
export function pageOf({ kind, id, at, load }: Found): string {
  const name = encodeURIComponent(at);
  switch (kind) {
    case 'lot':
      return `/lots/${name}`;
    case 'part':
      return load === undefined ? `/lots/${name}/${encodeURIComponent(id)}` : loadAddress(load);
    case 'load':
      return loadAddress(at);
    case 'station':
      return `/last/${name}`;
    case 'point':
    case 'instrument':
      return `/sensors/${name}`;
    case 'recipe':
      return `/recipes/${name}`;
  }
}

/** The one page of all that bears the name; null where it is several, or was only like it. */
function onlyPage({ exact, found }: Searched): string | null {
  const pages = new Set(found.map(pageOf));
  const [page] = pages;
  return exact && pages.size === 1 && page !== undefined ? page : null;
}

const asked = (text: string, more: Record<string, string> = {}): Promise<Searched> =>
  ask<Searched>(`/search?${new URLSearchParams({ text, ...more }).toString()}`);

/** Goes to what was typed: its page, or the list of what it may mean. @throws Refused */
export async function openTyped(text: string): Promise<void> {
  go(onlyPage(await asked(text)) ?? searchAddress(text));
}

/** Goes to what was scanned; what nobody knows stays where it is. @throws Refused */
export async function openScanned(typed: string): Promise<Searched> {
  const layout = scannerLayout.value;
  const searched = await asked(typed, layout === null ? {} : { layout });
  if (searched.found.length > 0) go(onlyPage(searched) ?? searchAddress(searched.text));
  return searched;
}
