// Files that wait in the browser until the register has them, with the form they belong to: in a
// database of the browser, since its plain store holds no pictures. When they are sent is in bench.js.
"use strict";

// What the browser keeps of files at most, all forms together.
const ROOM = 200 * 1024 * 1024;
// What nobody waits for any more is let go after this long.
const LEFTOVER = 24 * 3600 * 1000;

const files = {
  opened: null,
  last: Promise.resolve(),

  /** One thing after the other: what is chosen, sent and let go in one breath ends as it was meant. */
  inTurn(work) {
    const turn = this.last.then(work);
    this.last = turn.catch(() => {});
    return turn;
  },

  /** The database, opened once. */
  open() {
    this.opened ??= new Promise((done, refuse) => {
      const asked = indexedDB.open("bench-files", 1);
      asked.onupgradeneeded = () => asked.result.createObjectStore("kept", { keyPath: "name" });
      asked.onsuccess = () => {
        // A newer page may want to change it; a closed one is opened again.
        asked.result.onversionchange = () => asked.result.close();
        asked.result.onclose = () => (this.opened = null);
        done(asked.result);
      };
      asked.onerror = () => refuse(asked.error);
      asked.onblocked = () => refuse(new Error("blocked"));
    }).catch((error) => {
      this.opened = null;
      throw error;
    });
    return this.opened;
  },

  /** Does something with what is kept and waits until it is on the disk. */
  async within(mode, work) {
    const db = await this.open();
    return new Promise((done, refuse) => {
      const deed = db.transaction("kept", mode, { durability: "strict" });
      let answer;
      deed.oncomplete = () => done(answer);
      deed.onabort = () => refuse(deed.error ?? new Error("not kept"));
      work(deed.objectStore("kept"), (value) => (answer = value), deed);
    });
  },

  /** Keeps the files of a form under a name, in place of what stood under another; false without room. */
  async keep(name, list, instead) {
    try {
      return await this.inTurn(() => this.put(name, list, instead));
    } catch {
      return false;
    }
  },

  async put(name, list, instead) {
    const copied = [];
    // The bytes themselves: a picture on a card that is taken out is gone otherwise.
    for (const [field, file] of list) {
      copied.push({ field, name: file.name, blob: new Blob([await file.arrayBuffer()], { type: file.type }) });
    }
    const size = copied.reduce((sum, one) => sum + one.blob.size, 0);
    await this.within("readwrite", (store, _, deed) => {
      if (instead && instead !== name) store.delete(instead);
      store.getAll().onsuccess = (event) => {
        const others = event.target.result.filter((one) => one.name !== name);
        const taken = others.reduce((sum, one) => sum + one.size, 0);
        if (taken + size > ROOM) deed.abort();
        else
          try {
            store.put({ name, at: Date.now(), size, list: copied });
          } catch {
            deed.abort();
          }
      };
    });
    return true;
  },

  /** What is kept under a name: its files, nothing, or `undefined` where the browser does not tell. */
  async kept(name, within = Infinity) {
    try {
      const found = await this.within("readonly", (store, answer) => {
        store.get(name).onsuccess = (event) => answer(event.target.result);
      });
      return found && Date.now() - found.at <= within ? found.list : null;
    } catch {
      return undefined;
    }
  },

  /** Gives what is kept another name. */
  async rename(from, to) {
    try {
      await this.inTurn(() => this.within("readwrite", (store) => {
        store.get(from).onsuccess = (event) => {
          if (!event.target.result) return;
          store.put({ ...event.target.result, name: to, at: Date.now() });
          store.delete(from);
        };
      }));
    } catch {
      // Then it stays where it is.
    }
  },

  async drop(...names) {
    try {
      await this.inTurn(() => this.within("readwrite", (store) => names.forEach((name) => store.delete(name))));
    } catch {
      // Then there was nothing.
    }
  },

  /** Lets go what neither waits nor is being filled in. */
  async tidy(waits) {
    try {
      await this.within("readwrite", (store) => {
        store.getAll().onsuccess = (event) => {
          for (const one of event.target.result) {
            if (!waits(one.name) && Date.now() - one.at > LEFTOVER) store.delete(one.name);
          }
        };
      });
    } catch {
      // Another page does it.
    }
  },
};
