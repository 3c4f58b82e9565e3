import { readHostileText } from '../contract/hostile-text.ts';

/** Something tried with one seed after the other; a throw is a find, and its seed repeats it. */
export interface Soak {
  name: string;
  /** Seeds 1 to this in the long run; CI takes the first fiftieth of them. */
  seeds: number;
  run(seed: number): void | Promise<void>;
}

export const ciShare = 50;

export const soaks: Soak[] = [
  { name: 'any text is read or refused with its place', seeds: 4000, run: readHostileText },
];
