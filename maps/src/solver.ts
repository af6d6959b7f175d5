/**
 * The solver in threads of its own: one gives the first answers and keeps what it learns of the levels, the other computes the
 * rest. A newer request makes an older one void: the first thread finishes what it is at and then takes the newest request, the
 * other is ended and begun anew.
 */

import type { Reply } from './case';

declare const WORKER_TEXT: string;

export interface Solved {
  reply: Reply;
  milliseconds: number;
}

/** Solved, a sentence where it failed, or null where a newer request came in between. */
type Found = Solved | string | null;

class Thread {
  private worker: Worker | null = null;
  private running = false;
  private number = 0;
  private posted = 0;
  private waiting: string | null = null;
  private settle: ((found: Found) => void) | null = null;

  constructor(private readonly address: string, private readonly module: WebAssembly.Module, private readonly patient: boolean) {
    this.start();
  }

  private start(): void {
    this.worker?.terminate();
    const worker = new Worker(this.address);
    this.worker = worker;
    this.running = false;
    worker.onmessage = (message) => worker === this.worker && this.finished(message.data);
    worker.onerror = (event) => worker === this.worker && this.finished({ number: this.posted, error: event.message });
    worker.postMessage({ module: this.module });
  }

  private post(request: string): void {
    this.running = true;
    this.posted = this.number;
    this.worker?.postMessage({ number: this.number, request });
  }

  private finished(data: { number: number; reply?: string; error?: string; milliseconds?: number }): void {
    this.running = false;
    // After a trap the module's memory means nothing any more.
    if (data.reply === undefined) this.start();
    const next = this.waiting;
    this.waiting = null;
    if (next !== null) this.post(next);
    if (data.number !== this.number) return;
    const settle = this.settle;
    this.settle = null;
    if (data.reply === undefined) {
      settle?.(`The solver stopped (${data.error ?? 'no reason given'}). Undo the last change, or save the notes.`);
      return;
    }
    const reply = JSON.parse(data.reply) as Reply;
    settle?.(reply.error ? reply.error : { reply, milliseconds: data.milliseconds ?? 0 });
  }

  /** Makes void what was asked. */
  drop(): void {
    this.settle?.(null);
    this.settle = null;
    this.waiting = null;
    this.number += 1;
    if (this.running && !this.patient) this.start();
  }

  solve(request: string): Promise<Found> {
    this.drop();
    return new Promise((resolve) => {
      this.settle = resolve;
      if (this.running) this.waiting = request;
      else this.post(request);
    });
  }
}

export class Solver {
  /** Whether the first thread has answered, and so knows the levels. */
  warm = false;
  /** Called when an answer is ready that nobody has asked for yet. */
  onForeseen: () => void = () => {};
  private foreseen: { request: string; found: Promise<Found> } | null = null;
  /** How many first answers are waited for. */
  private asked = 0;
  private quick: Thread | null = null;
  private whole: Thread | null = null;

  /** Unpacks the module from the page; a sentence where that cannot be done. */
  async begin(packed: string): Promise<string | null> {
    if (packed.trim() === '') return 'This page was built without the solver: it shows the map and takes notes, and cannot compute.';
    if (typeof WebAssembly === 'undefined' || typeof DecompressionStream === 'undefined') {
      return 'This browser is too old to compute: the page shows the map and takes notes. Save them, and let azimark locate compute.';
    }
    try {
      const bytes = Uint8Array.from(atob(packed.trim()), (c) => c.charCodeAt(0));
      const plain = new Blob([bytes]).stream().pipeThrough(new DecompressionStream('gzip'));
      const module = await WebAssembly.compile(await new Response(plain).arrayBuffer());
      const address = URL.createObjectURL(new Blob([WORKER_TEXT], { type: 'text/javascript' }));
      this.quick = new Thread(address, module, true);
      this.whole = new Thread(address, module, false);
      return null;
    } catch (error) {
      return `The solver in this page cannot be started (${String(error)}): the page shows the map and takes notes.`;
    }
  }

  /** Begins with a first answer that will probably be asked for; not while one is asked for already. */
  foresee(request: string): void {
    if (!this.warm || this.asked > 0 || !this.quick || this.foreseen?.request === request) return;
    const found = this.quick.solve(request);
    this.foreseen = { request, found };
    void found.then((f) => f !== null && this.onForeseen());
  }

  /** The first answer, without checks; what was asked of the other thread is void. */
  async first(request: string): Promise<Found> {
    this.whole?.drop();
    this.asked += 1;
    const known = this.foreseen?.request === request ? this.foreseen.found : null;
    this.foreseen = null;
    const found = (await known) ?? (await this.quick?.solve(request)) ?? null;
    this.asked -= 1;
    if (found !== null && typeof found !== 'string') this.warm = true;
    return found;
  }

  /** An answer by the other thread. */
  async rest(request: string): Promise<Found> {
    return (await this.whole?.solve(request)) ?? null;
  }
}
