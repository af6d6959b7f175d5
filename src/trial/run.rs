//! Many scenes on several threads.

use std::sync::{
    atomic::{AtomicBool, AtomicUsize, Ordering},
    mpsc,
};

use crate::{
    simulate::Refusal,
    trial::{Class, Outcome, outcomes},
};

/// Solves scenes, each a class and a number, on so many threads, and hands the outcomes of each out as they come; in which
/// order depends on the threads, what they are does not. Ends early where `sink` gives `false`.
///
/// # Errors
/// [`Refusal`] where a plan cannot be.
pub fn run(
    seed: u64,
    tasks: &[(Class, u32)],
    threads: usize,
    sink: &mut dyn FnMut(Vec<Outcome>) -> bool,
) -> Result<(), Refusal> {
    let (next, stop) = (AtomicUsize::new(0), AtomicBool::new(false));
    let (send, receive) = mpsc::channel();
    std::thread::scope(|scope| {
        for _ in 0..threads.clamp(1, 256) {
            let send = send.clone();
            let (next, stop) = (&next, &stop);
            scope.spawn(move || {
                while !stop.load(Ordering::Relaxed) {
                    let Some((class, number)) = tasks.get(next.fetch_add(1, Ordering::Relaxed)) else {
                        break;
                    };
                    if send.send(outcomes(seed, *class, *number)).is_err() {
                        break;
                    }
                }
            });
        }
        drop(send);
        let mut failed = None;
        for found in receive {
            match found {
                Ok(found) if failed.is_none() && !stop.load(Ordering::Relaxed) => {
                    if !sink(found) {
                        stop.store(true, Ordering::Relaxed);
                    }
                }
                Ok(_) => {}
                Err(refusal) => {
                    failed = Some(refusal);
                    stop.store(true, Ordering::Relaxed);
                }
            }
        }
        failed.map_or(Ok(()), Err)
    })
}

/// Outcomes as lines of JSON, the seed and the version first: what a trial that was broken off goes on from.
pub fn header(seed: u64) -> String {
    format!("{{\"seed\":{seed},\"version\":\"{}\"}}", env!("CARGO_PKG_VERSION"))
}

/// Reads kept outcomes. A last line without an end was broken off and is left out; the second value tells of it.
///
/// # Errors
/// In a sentence: another seed or version, or a line that is none.
pub fn read(text: &str, seed: u64) -> Result<(Vec<Outcome>, bool), String> {
    let (whole, rest) = text.rsplit_once('\n').unwrap_or(("", text));
    let mut lines = whole.lines();
    match lines.next() {
        Some(first) if first == header(seed) => {}
        None if rest.is_empty() => return Ok((Vec::new(), false)),
        None => return Ok((Vec::new(), true)),
        Some(_) => return Err(format!("it is not of this seed and version ({})", header(seed))),
    }
    let parsed = lines
        .enumerate()
        .map(|(i, line)| serde_json::from_str::<Outcome>(line).map_err(|e| format!("line {}: {e}", i + 2)));
    Ok((parsed.collect::<Result<_, String>>()?, !rest.is_empty()))
}
