import { computed, signal } from '@preact/signals';
import { keep, kept } from './kept.ts';
import { path } from './route.ts';

/** From these widths a screen is read from across the hall: a Load has acts, so a desk keeps it longer. */
const floorFromPx = 1800;
const loadFromPx = 2600;

type View = 'wall' | 'desk';

const asked = new URLSearchParams(location.search).get('wall');

/** A wall by address hangs in a hall without a keyboard: it shows nothing to press. */
export const isKiosk = asked !== null && asked !== '0';

const keptView = kept('view');
/** What this device was set to by hand; null: by its width. */
const chosen = signal<View | null>(keptView === 'wall' || keptView === 'desk' ? keptView : null);

export function showAs(view: View): void {
  keep('view', view);
  chosen.value = view;
}

function widerThan(px: number) {
  const query = matchMedia(`(min-width: ${px}px)`);
  const isWider = signal(query.matches);
  query.addEventListener('change', (event) => {
    isWider.value = event.matches;
  });
  return isWider;
}

const isFloorWide = widerThan(floorFromPx);
const isLoadWide = widerThan(loadFromPx);

/** Whether this screen is laid out for three metres: the Floor and a Load are, no other. */
export const isWall = computed(() => {
  const at = path.value;
  const isLoad = at.startsWith('/load/');
  if (!isLoad && at !== '/' && !at.startsWith('/floor')) return false;
  if (asked !== null) return asked !== '0';
  if (chosen.value !== null) return chosen.value === 'wall';
  return isLoad ? isLoadWide.value : isFloorWide.value;
});
