/** What is kept on this device: one record for each case, written at each tap. Some browsers keep nothing for opened files. */

import type { Entry } from './log';

/** Version of what is kept; greater ones were written by newer pages. */
const VERSION = 1;

/** A browser that does not answer within these milliseconds keeps nothing. */
const PATIENCE = 3000;

export interface Kept {
  version?: number;
  id: string;
  title: string;
  log: Entry[];
  /** What was entered and not saved yet, and in which table. */
  draft: { of: string; cells: Record<string, string> } | null;
  theme: string | null;
}

const DATABASE = 'azimark';
const STORE = 'cases';

export class Store {
  private database: IDBDatabase | null = null;
  /** Why nothing is kept, in a sentence; null where it is. */
  trouble: string | null = null;
  /** Called where something can no longer be kept. */
  onTrouble: (why: string) => void = () => {};

  private failed(why: string): void {
    this.trouble = why;
    this.onTrouble(why);
  }

  private async open(): Promise<IDBDatabase> {
    return new Promise((resolve, reject) => {
      const asked = indexedDB.open(DATABASE, 1);
      asked.onupgradeneeded = () => asked.result.createObjectStore(STORE, { keyPath: 'id' });
      asked.onsuccess = () => resolve(asked.result);
      asked.onerror = () => reject(asked.error);
      asked.onblocked = () => reject(new Error('blocked'));
      setTimeout(() => reject(new Error('no answer')), PATIENCE);
    });
  }

  /** What was kept for a case. */
  async load(id: string): Promise<Kept | null> {
    try {
      this.database = await this.open();
      const asked = this.database.transaction(STORE).objectStore(STORE).get(id);
      const kept = await new Promise<Kept | null>((resolve, reject) => {
        asked.onsuccess = () => resolve((asked.result as Kept | undefined) ?? null);
        asked.onerror = () => reject(asked.error);
      });
      if ((kept?.version ?? 0) <= VERSION) return kept;
      // What a newer page wrote is left as it is.
      this.database.close();
      this.database = null;
      this.failed('What is kept on this device for this case was written by a newer page: it is left as it is, and nothing is added. Open the newer page, or save what you enter here as a file.');
      return null;
    } catch {
      this.database = null;
      this.failed('This browser keeps nothing for this page: what you enter is lost when it closes. Save it as a file before.');
      return null;
    }
  }

  /** Keeps a record; the promise ends when it is on the device, or when it was told that it could not be. */
  async keep(kept: Kept): Promise<void> {
    const database = this.database;
    if (!database) return;
    try {
      await new Promise<void>((resolve, reject) => {
        const change = database.transaction(STORE, 'readwrite', { durability: 'strict' });
        change.objectStore(STORE).put({ ...kept, version: VERSION });
        change.oncomplete = () => resolve();
        change.onerror = () => reject(change.error);
        change.onabort = () => reject(change.error);
      });
      if (this.trouble) {
        this.trouble = null;
        this.onTrouble('');
      }
    } catch {
      this.failed('The last tap could not be kept: the storage is full or closed. It is still in this page: save it as a file now.');
    }
  }
}
