import { computed, signal } from '@preact/signals';
import { path } from './route.ts';

/** From this width a floor is read from across the hall; `?wall` and `?wall=0` decide by hand. */
const wallFromPx = 1800;
const asked = new URLSearchParams(location.search).get('wall');
const wide = matchMedia(`(min-width: ${wallFromPx}px)`);
const isWide = signal(wide.matches);
wide.addEventListener('change', (event) => {
  isWide.value = event.matches;
});

/** A wall by address hangs in a hall without a keyboard: it shows nothing to press. */
export const isKiosk = asked !== null && asked !== '0';

export const isWall = computed(
  () =>
    (path.value === '/' || path.value.startsWith('/floor')) &&
    (asked === null ? isWide.value : asked !== '0'),
);
