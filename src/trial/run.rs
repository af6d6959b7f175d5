//! Scenes side by side.

use std::sync::{
    atomic::{AtomicUsize, Ordering},
    mpsc,
};

use crate::{
    simulate::Refusal,
    trial::{Class, Group, Outcome, draw},
};

/// A scene to be tried.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Task {
    /// Its class.
    pub class: Class,
    /// Its number, from 0.
    pub number: u32,
}

impl Task {
    /// Draws the scene and tries every method of its class; `clock` gives seconds.
    ///
    /// # Errors
    /// As [`draw`].
    pub fn attempt(self, seed: u64, clock: &dyn Fn() -> f64) -> Result<Outcome, Refusal> {
        let drawn = draw(seed, self.class, self.number)?;
        let found = self.class.methods().iter().map(|m| m.on(&drawn, clock)).collect();
        Ok(Outcome { task: self, bound: drawn.bound, found })
    }
}

/// Scenes 0, 1, … of each of these classes (all classes where none is named), in order, each once: so many of each class of
/// bearings, and of each class of walks.
pub fn tasks(classes: &[Class], scenes: u32, walks: u32) -> Vec<Task> {
    let chosen = Class::ALL.into_iter().filter(|c| classes.is_empty() || classes.contains(c));
    let count = |class: Class| if class.group() == Group::Walks { walks } else { scenes };
    chosen.flat_map(|class| (0..count(class)).map(move |number| Task { class, number })).collect()
}

/// Tries all scenes with so many threads (at least one) and hands each outcome to `each` as soon as it is there, in no order,
/// until `each` returns false. `clock` gives seconds, from any beginning.
///
/// # Errors
/// As [`draw`]; the scenes before it have been handed out.
pub fn run(
    seed: u64,
    tasks: &[Task],
    threads: usize,
    clock: &(dyn Fn() -> f64 + Sync),
    each: &mut dyn FnMut(Outcome) -> bool,
) -> Result<(), Refusal> {
    side_by_side(tasks, threads, &|task| task.attempt(seed, &|| clock()), each)
}

/// Does all tasks with so many threads (at least one) and hands each outcome to `each` as soon as it is there, in no order, until
/// `each` returns false.
///
/// # Errors
/// Those of the tasks; what was done before has been handed out.
pub fn side_by_side<T: Sync, O: Send>(
    tasks: &[T],
    threads: usize,
    attempt: &(dyn Fn(&T) -> Result<O, Refusal> + Sync),
    each: &mut dyn FnMut(O) -> bool,
) -> Result<(), Refusal> {
    let next = AtomicUsize::new(0);
    let (sender, receiver) = mpsc::channel();
    std::thread::scope(|scope| {
        for _ in 0..threads.clamp(1, tasks.len().max(1)) {
            let (sender, next) = (sender.clone(), &next);
            scope.spawn(move || {
                while let Some(task) = tasks.get(next.fetch_add(1, Ordering::Relaxed)) {
                    // Nobody listens any more: enough.
                    if sender.send(attempt(task)).is_err() {
                        break;
                    }
                }
            });
        }
        drop(sender);
        for outcome in receiver {
            if !each(outcome?) {
                break;
            }
        }
        Ok(())
    })
}
