//! What came of a scene, also as a line of a file.

use serde_json::{Value, json};

use crate::{
    simulate::{Kind, Refusal},
    trial::{
        hunt::{Place, Way, place::KINDS},
        run::side_by_side,
    },
};

/// A scene to be hunted in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Task {
    /// Its kind.
    pub kind: Kind,
    /// Its number, from 0.
    pub number: u32,
}

/// How a hunt ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ended {
    /// How it was gone about.
    pub way: Way,
    /// Whether the emitter was met within the time.
    pub met: bool,
    /// Minutes until then.
    pub minutes: f64,
    /// Bearings taken.
    pub bearings: u32,
    /// Metres walked.
    pub metres: f64,
}

/// What came of a scene.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// Which scene.
    pub task: Task,
    /// How its hunts ended, in the order of [`Way::ALL`].
    pub hunts: Vec<Ended>,
}

impl Task {
    /// Draws the scene and hunts in all ways.
    ///
    /// # Errors
    /// As [`Place::draw`].
    pub fn attempt(self, seed: u64) -> Result<Outcome, Refusal> {
        let place = Place::draw(seed, self.kind, self.number)?;
        let hunts = Way::ALL.into_iter().map(|way| way.hunt(&place)).collect::<Result<_, _>>()?;
        Ok(Outcome { task: self, hunts })
    }
}

/// Scenes 0, 1, … of each kind, in the order of [`KINDS`].
pub fn tasks(kinds: &[Kind], scenes: u32) -> Vec<Task> {
    let chosen = KINDS.into_iter().filter(|k| kinds.contains(k));
    chosen.flat_map(|kind| (0..scenes).map(move |number| Task { kind, number })).collect()
}

/// Hunts in all scenes with so many threads and hands each outcome to `each` as soon as it is there, in no order, until `each`
/// returns false.
///
/// # Errors
/// As [`Task::attempt`].
pub fn run(
    seed: u64,
    tasks: &[Task],
    threads: usize,
    each: &mut dyn FnMut(Outcome) -> bool,
) -> Result<(), Refusal> {
    side_by_side(tasks, threads, &|task: &Task| task.attempt(seed), each)
}

impl Outcome {
    /// How a way to hunt ended.
    pub fn ended(&self, way: Way) -> Option<&Ended> {
        self.hunts.iter().find(|h| h.way == way)
    }

    /// The outcome as one line of JSON, without its end.
    pub fn line(&self) -> String {
        let hunt = |h: &Ended| json!({"way": h.way.word(), "met": h.met, "minutes": h.minutes, "bearings": h.bearings, "metres": h.metres});
        let hunts: Vec<Value> = self.hunts.iter().map(hunt).collect();
        json!({"kind": self.task.kind.word(), "number": self.task.number, "hunts": hunts}).to_string()
    }

    /// The outcome of a line; `None` for any other text.
    pub fn of_line(line: &str) -> Option<Self> {
        let value: Value = serde_json::from_str(line).ok()?;
        let kind = Kind::from_word(value.get("kind")?.as_str()?).filter(|k| KINDS.contains(k))?;
        let number = u32::try_from(value.get("number")?.as_u64()?).ok()?;
        let hunts: Vec<Ended> = value.get("hunts")?.as_array()?.iter().map(ended).collect::<Option<_>>()?;
        let complete = hunts.iter().map(|h| h.way).eq(Way::ALL);
        complete.then_some(Self { task: Task { kind, number }, hunts })
    }
}

fn ended(value: &Value) -> Option<Ended> {
    let number = |name: &str| value.get(name)?.as_f64().filter(|v| *v >= 0.0);
    Some(Ended {
        way: Way::from_word(value.get("way")?.as_str()?)?,
        met: value.get("met")?.as_bool()?,
        minutes: number("minutes")?,
        bearings: u32::try_from(value.get("bearings")?.as_u64()?).ok()?,
        metres: number("metres")?,
    })
}
