/** The solver as WebAssembly: texts travel as addresses in the module's memory, and JSON is what they say. */

/** Compiles the module from its bytes, a response, or an address. */
async function compiled(source) {
  if (source instanceof WebAssembly.Module) return source;
  if (source instanceof ArrayBuffer || ArrayBuffer.isView(source)) return WebAssembly.compile(source);
  const response = source instanceof Response ? source : await fetch(source);
  if (!response.ok) throw new Error(`the solver was not fetched: ${response.status} ${response.statusText}`);
  return WebAssembly.compile(await response.arrayBuffer());
}

export class Solver {
  #wasm;

  /** Use {@link load}. */
  constructor(exports) {
    this.#wasm = exports;
  }

  /** Answers a request. Throws an Error with the solver's own sentence where the request means nothing. */
  solve(request) {
    const { memory, reserve, release, answer } = this.#wasm;
    const asked = new TextEncoder().encode(JSON.stringify(request));
    const at = reserve(asked.length) >>> 0;
    if (at === 0) throw new Error('the solver has no memory for a request of this size');
    new Uint8Array(memory.buffer, at, asked.length).set(asked);
    const found = BigInt.asUintN(64, answer(at, asked.length));
    release(at, asked.length);
    const [from, length] = [Number(found >> 32n), Number(found & 0xffffffffn)];
    const text = new TextDecoder().decode(new Uint8Array(memory.buffer, from, length));
    release(from, length);
    const reply = JSON.parse(text);
    if (reply.error !== undefined) throw new Error(reply.error);
    return reply;
  }
}

/** A solver from the module's bytes, a compiled module, a response or an address. It needs nothing else: it imports nothing. */
export async function load(source) {
  const instance = await WebAssembly.instantiate(await compiled(source), {});
  return new Solver(instance.exports);
}
