// The people of the demo plant, as the program prints their sign-ins where it is started.

/** Role, sign-in and password of the first of each role. */
export function demoPeople(plant) {
  const password = plant.printed.map((line) => line.match(/password of all is: (.+)$/)?.[1]).find(Boolean);
  if (!password) throw new Error(`no demo password in:\n${plant.printed.join('\n')}`);
  return plant.printed
    .map((line) => line.match(/^ {2}(\S+) +(.+), ([^,]+)$/))
    .filter(Boolean)
    .map(([, name, person, words]) => ({ role: words.split(' ').at(-1), name, person, password }))
    .filter((one, place, all) => all.findIndex((other) => other.role === one.role) === place);
}
