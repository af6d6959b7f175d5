/** The solver's thread: a compiled module once, then requests, each answered by text. */

interface Solver {
  memory: WebAssembly.Memory;
  reserve(length: number): number;
  release(at: number, length: number): void;
  answer(at: number, length: number): bigint;
}

let solver: Promise<Solver> | null = null;

function solve(s: Solver, request: string): string {
  const bytes = new TextEncoder().encode(request);
  const at = s.reserve(bytes.length);
  if (at === 0) throw new Error('no memory');
  new Uint8Array(s.memory.buffer, at, bytes.length).set(bytes);
  const found = BigInt.asUintN(64, s.answer(at, bytes.length));
  s.release(at, bytes.length);
  const [from, length] = [Number(found >> 32n), Number(found & 0xffffffffn)];
  const reply = new TextDecoder().decode(new Uint8Array(s.memory.buffer, from, length));
  s.release(from, length);
  return reply;
}

self.onmessage = async (message: MessageEvent) => {
  const { module, number, request } = message.data as { module?: WebAssembly.Module; number?: number; request?: string };
  if (module) solver = WebAssembly.instantiate(module, {}).then((i) => i.exports as unknown as Solver);
  if (request === undefined || !solver) return;
  try {
    const ready = await solver;
    const begun = performance.now();
    const reply = solve(ready, request);
    self.postMessage({ number, reply, milliseconds: performance.now() - begun });
  } catch (error) {
    self.postMessage({ number, error: String(error) });
  }
};
