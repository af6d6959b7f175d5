//! The trial of coverage: that it can fail, that it does not depend on threads, and that the page tells what the code produces.

use std::path::Path;

use azimark::trial::{self, Class, Method, Outcome, Row, Task};

fn outcomes(seed: u64, tasks: &[Task], threads: usize) -> Vec<Outcome> {
    let mut out = Vec::new();
    trial::run(seed, tasks, threads, &|| 0.0, &mut |outcome| {
        out.push(outcome);
        true
    })
    .unwrap();
    out
}

fn cores() -> usize {
    std::thread::available_parallelism().map_or(1, std::num::NonZero::get)
}

fn row(rows: &[Row], class: Class, method: Method) -> &Row {
    rows.iter().find(|r| (r.class, r.method) == (class, method)).unwrap()
}

/// A trial that could not tell a wrong error from a right one would prove nothing: the ellipse of exact errors holds with
/// doubled ones what a Rayleigh variable of twice the scale leaves below the limit, 1 − 0.05^(1/4) = 52.7 %, within chance. The
/// posterior, which allows for them, holds far more, and 95 % within chance or more of the clean ones.
#[test]
fn a_wrong_sigma_makes_the_coverage_fall() {
    let tasks = trial::tasks(&[Class::Clean, Class::SigmaDouble], 100, 0);
    let rows = trial::rows(&outcomes(3, &tasks, cores()));
    let at_95 = |class, method| row(&rows, class, method).held[2].interval().unwrap();
    let (_, high) = at_95(Class::Clean, Method::Posterior);
    assert!(high > 0.95, "{high}");
    let (delivered, _) = at_95(Class::SigmaDouble, Method::Posterior);
    let (low, high) = at_95(Class::SigmaDouble, Method::LeastSquares);
    let expected = 1.0 - 0.05f64.powf(0.25);
    assert!(low < expected && high > expected, "{low} to {high} and not {expected}");
    assert!(delivered > high, "{delivered} and {high}");
}

/// Compasses that are all off by 5° to 15°, stands all round: the lines tell the error, and the region allows for it. Without that it
/// held 11 % of 500 scenes, with it 94 %; here at least 92 % within chance.
#[test]
fn a_wrong_compass_is_allowed_for() {
    let rows = trial::rows(&outcomes(5, &trial::tasks(&[Class::CompassRound], 60, 0), cores()));
    let (_, high) = row(&rows, Class::CompassRound, Method::Posterior).held[2].interval().unwrap();
    assert!(high > 0.92, "{high}");
}

#[test]
fn any_number_of_threads_gives_the_same_outcomes() {
    let tasks = trial::tasks(&[Class::Foreign40, Class::Street], 6, 0);
    let sorted = |mut all: Vec<Outcome>| {
        all.sort_by_key(|o| o.task);
        all
    };
    let one = sorted(outcomes(5, &tasks, 1));
    assert_eq!(one, sorted(outcomes(5, &tasks, 4)));
    assert_eq!(one.iter().map(|o| o.task).collect::<Vec<_>>(), tasks);
    // Written and read again, and in any order: the same table.
    let read: Vec<Outcome> = one.iter().rev().map(|o| Outcome::of_line(&o.line()).unwrap()).collect();
    assert_eq!(trial::rows(&read), trial::rows(&one));
    assert_ne!(one, sorted(outcomes(6, &tasks, 2)));
}

#[test]
fn work_that_nobody_wants_any_more_ends() {
    let tasks = trial::tasks(&[Class::Clean], 100_000, 0);
    let mut seen = 0;
    trial::run(1, &tasks, 2, &|| 0.0, &mut |_| {
        seen += 1;
        seen < 3
    })
    .unwrap();
    assert_eq!(seen, 3);
}

/// A block of the page: the command that prints it, and what it prints.
struct Block<'a> {
    command: &'a str,
    text: &'a str,
}

fn blocks(page: &str) -> Vec<Block<'_>> {
    let mut out = Vec::new();
    for part in page.split("\n```text\n$ azimark trial ").skip(1) {
        let (command, rest) = part.split_once('\n').unwrap();
        let (text, _) = rest.split_once("```").unwrap();
        out.push(Block { command, text });
    }
    out
}

impl Block<'_> {
    fn option(&self, name: &str) -> Option<&str> {
        let mut words = self.command.split(' ');
        words.find(|w| *w == name)?;
        words.next()
    }

    fn number(&self, name: &str) -> u32 {
        self.option(name).map_or(0, |n| n.parse().unwrap())
    }

    fn produced(&self) -> String {
        let classes: Vec<Class> = self
            .option("--classes")
            .map_or(Vec::new(), |c| c.split(',').map(|w| Class::from_word(w).unwrap()).collect());
        let seed = self.number("--seed").into();
        let tasks = trial::tasks(&classes, self.number("--scenes"), self.number("--walks"));
        trial::table(&trial::rows(&outcomes(seed, &tasks, cores())), seed)
    }
}

/// `AZIMARK_RENEW=1` writes what the code produces into the page; with `AZIMARK_LONG=1` also the long table.
#[test]
fn the_page_tells_what_the_code_produces() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/trial/COVERAGE.md");
    let page = std::fs::read_to_string(&path).unwrap();
    let told = blocks(&page);
    assert_eq!(told.len(), 2, "a short table and a long one");
    let [short, long] = [&told[0], &told[1]];
    let begins = format!("azimark {}, seed {}. ", trial::VERSION, long.number("--seed"));
    let mut renewed = page.clone();
    for block in [Some(short), super::long().then_some(long)].into_iter().flatten() {
        let produced = block.produced();
        let whole = |text: &str| format!("$ azimark trial {}\n{text}```", block.command);
        renewed = renewed.replace(&whole(block.text), &whole(&produced));
        if std::env::var_os("AZIMARK_RENEW").is_none() {
            assert_eq!(block.text, produced, "renew it: AZIMARK_RENEW=1 cargo test --test studies page");
        }
    }
    if renewed != page {
        std::fs::write(&path, renewed).unwrap();
        return;
    }
    // The long table takes minutes: here, that it is of this version, whole, and of enough scenes.
    assert!(long.text.starts_with(&begins), "the long table is of another version or seed");
    assert!(long.number("--scenes") >= 500 && long.option("--classes").is_none());
    for class in Class::ALL {
        assert!(long.text.lines().any(|l| l.starts_with(class.word())), "{} is missing", class.word());
    }
}
