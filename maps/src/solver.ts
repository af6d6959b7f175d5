/** The solver in its own thread. A newer request makes an older one void: its thread is ended and another one begun. */

import type { Reply } from './case';

declare const WORKER_TEXT: string;

export interface Solved {
  reply: Reply;
  milliseconds: number;
}

export class Solver {
  private module: WebAssembly.Module | null = null;
  private worker: Worker | null = null;
  private busy = false;
  private number = 0;
  private settle: ((solved: Solved | string | null) => void) | null = null;
  private readonly address = URL.createObjectURL(new Blob([WORKER_TEXT], { type: 'text/javascript' }));

  /** Unpacks the module from the page; a sentence where that cannot be done. */
  async begin(packed: string): Promise<string | null> {
    if (packed.trim() === '') return 'This page was built without the solver: it shows the map and takes notes, and cannot compute.';
    if (typeof WebAssembly === 'undefined' || typeof DecompressionStream === 'undefined') {
      return 'This browser is too old to compute: the page shows the map and takes notes. Save them, and let azimark locate compute.';
    }
    try {
      const bytes = Uint8Array.from(atob(packed.trim()), (c) => c.charCodeAt(0));
      const plain = new Blob([bytes]).stream().pipeThrough(new DecompressionStream('gzip'));
      this.module = await WebAssembly.compile(await new Response(plain).arrayBuffer());
      this.start();
      return null;
    } catch (error) {
      return `The solver in this page cannot be started (${String(error)}): the page shows the map and takes notes.`;
    }
  }

  private start(): void {
    this.worker?.terminate();
    this.worker = new Worker(this.address);
    this.busy = false;
    this.worker.onmessage = (message) => this.finished(message.data);
    this.worker.onerror = (event) => this.finished({ number: this.number, error: event.message });
    this.worker.postMessage({ module: this.module });
  }

  private finished(data: { number: number; reply?: string; error?: string; milliseconds?: number }): void {
    if (data.number !== this.number) return;
    this.busy = false;
    const settle = this.settle;
    this.settle = null;
    if (data.reply !== undefined) {
      const reply = JSON.parse(data.reply) as Reply;
      settle?.(reply.error ? reply.error : { reply, milliseconds: data.milliseconds ?? 0 });
      return;
    }
    // After a trap the module's memory means nothing any more.
    this.start();
    settle?.(`The solver stopped (${data.error ?? 'no reason given'}). Undo the last change, or save the notes.`);
  }

  /** Solves; null where a newer request came in between, a sentence where it failed. */
  solve(request: string): Promise<Solved | string | null> {
    this.settle?.(null);
    this.settle = null;
    if (this.busy) this.start();
    this.number += 1;
    this.busy = true;
    return new Promise((resolve) => {
      this.settle = resolve;
      this.worker?.postMessage({ number: this.number, request });
    });
  }
}
