/**
 * How V8 keeps house in the collector, as options of Node's. On a machine with much memory it lets a heap
 * grow to four times what lives in it, and takes 32 MB a thread for what has just been made: the box has
 * its memory for other things. Beneath a ceiling of a gigabyte it collects at about one and a half times.
 * Five hundred points live in 40 MB; what needs a gigabyte is a fault, and ends with a restart.
 *
 * @source factor by ceiling: V8's MemoryController::MaxGrowingFactor (from memory); measured by
 *   `npm run soak -- --only "memory stays"`
 */
export const heapOptions = ['--max-old-space-size=1024', '--max-semi-space-size=8'];
