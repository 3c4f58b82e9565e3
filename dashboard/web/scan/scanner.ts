import { signal } from '@preact/signals';
import { keep, kept } from '../kept.ts';
import {
  asPrinted,
  asTyped,
  readScan,
  scannerLayouts,
  type ScannerLayout,
} from '@setwell/shared-models/plant/scanner-layout';

/** Nobody types so fast: a scan's keys lie closer together [ms]. */
const gapMs = 50;
/** A whole scan takes no longer, however slow the browser is at the moment [ms]. */
const wholeMs = 1_000;
const leastCharacters = 4;
const mostCharacters = 120;
/** The same code again within this time is the scanner's trigger, held too long [ms]. */
const doubleMs = 3_000;

/** What somebody on this page wants to know of a scan; answers whether it took it. */
export type ScanListener = (typed: string) => boolean;

const keptLayout = kept('scanner');

/** The layout that the scanner check has found on this device; null where nobody has checked. */
export const scannerLayout = signal<ScannerLayout | null>(
  scannerLayouts.find((layout) => layout === keptLayout) ?? null,
);

export function keepLayout(layout: ScannerLayout): void {
  keep('scanner', layout);
  scannerLayout.value = layout;
}

const listeners: ScanListener[] = [];

/** The newest listener is asked first; the answer stops listening. */
export function listenToScans(listener: ScanListener): () => void {
  listeners.unshift(listener);
  return () => {
    listeners.splice(listeners.indexOf(listener), 1);
  };
}

/** What a scan says: by this device's layout where it was checked, else what one known text alone fits. */
export function scanned(typed: string, isKnown: (text: string) => boolean): string | null {
  const checked = scannerLayout.value;
  const text = checked === null ? null : asPrinted(typed, checked);
  if (text !== null && isKnown(text)) return text;
  return readScan(typed, isKnown)?.text ?? text;
}

interface Typing {
  text: string;
  firstMs: number;
  lastMs: number;
  /** The field that has the focus, as it was before the first key. */
  field: HTMLInputElement | HTMLTextAreaElement | null;
  before: string;
}

let typing: Typing | null = null;
let last = { text: '', atMs: 0 };

function begun(event: KeyboardEvent, atMs: number): Typing {
  const at = event.target;
  const isField = at instanceof HTMLInputElement || at instanceof HTMLTextAreaElement;
  const field = isField ? at : null;
  return { text: '', firstMs: atMs, lastMs: atMs, field, before: field?.value ?? '' };
}

/** The letters have gone into a field that had the focus: it gets back what stood there. */
function restore({ field, before }: Typing): void {
  if (field === null || field.value === before) return;
  field.value = before;
  field.dispatchEvent(new Event('input', { bubbles: true }));
}

function take(whole: Typing, atMs: number): void {
  restore(whole);
  if (whole.text === last.text && atMs - last.atMs < doubleMs) return;
  last = { text: whole.text, atMs };
  listeners.some((listener) => listener(whole.text));
}

/** A camera reads what is printed: it is told as this device's hand scanner would have typed it. */
export function scannedByCamera(printed: string): void {
  const layout = scannerLayout.value;
  const text = layout === null ? printed : asTyped(printed, layout);
  listeners.some((listener) => listener(text.slice(0, mostCharacters)));
}

/** Before anything else on the page: a scan's Enter must press no button. */
function onKey(event: KeyboardEvent): void {
  const atMs = event.timeStamp;
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  // A secret is nobody's scan: it stays in its field, whoever or whatever types it.
  if (event.target instanceof HTMLInputElement && event.target.type === 'password') {
    typing = null;
    return;
  }
  if (typing !== null && atMs - typing.lastMs > gapMs) typing = null;
  if (event.key === 'Enter' || event.key === 'Tab') {
    const whole = typing;
    typing = null;
    if (whole === null || whole.text.length < leastCharacters) return;
    if (atMs - whole.firstMs > wholeMs) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    take(whole, atMs);
    return;
  }
  if (event.key.length !== 1) return;
  typing ??= begun(event, atMs);
  typing.lastMs = atMs;
  if (typing.text.length < mostCharacters) typing.text += event.key;
  // The blank of a scan would press the button that has the focus.
  if (event.key === ' ' && typing.text.length > 1 && typing.field === null) event.preventDefault();
}

addEventListener('keydown', onKey, { capture: true });
