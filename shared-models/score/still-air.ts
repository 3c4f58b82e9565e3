/** An open face in still air, radiation included [W/(m²·K)]; common practice, no source. */
export const STILL_AIR_WPerM2K = 10;
