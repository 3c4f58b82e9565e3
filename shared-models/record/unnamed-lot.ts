/** Where a load-start names no lot. Somebody names it later. */
export const unnamedLot = '';
