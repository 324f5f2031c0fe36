// Lets the time of a hold pass. The program takes its time from the system, so the system's clock is
// moved on under it where that can be done, and waited for where not.

import { clockMoves } from './harness.mjs';

/** The server is killed in the middle of the hold and found again so many minutes later. */
export async function holdPasses(plant, minutes) {
  if (clockMoves) {
    await plant.kill();
    await plant.again(minutes);
  } else {
    await new Promise((done) => setTimeout(done, minutes * 60_000));
  }
}
