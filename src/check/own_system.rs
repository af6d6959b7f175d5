//! Whether a disturbance comes in from outside, from levels that one receiver showed with and without its antenna and with
//! and without the own transmitters.

use crate::{
    radio::{
        HIGHEST_ORDER, Product,
        noise::{noise_floor, power_sum},
        products,
    },
    units::{Db, Dbm, Hertz},
};

/// A difference from here on is no scatter of readings; half an indicated 6 dB step (common practice, no source).
const CLEAR_DB: f64 = 3.0;

/// A difference below this is none (common practice, no source).
const NONE_DB: f64 = 1.0;

/// A receiver that shows this much more than its thermal noise on a dummy load is not well (common practice, no source).
const UNWELL_DB: f64 = 6.0;

/// Antennas of one site that hear the same source differ by no more; more points to the own branch (common practice among network
/// operators, from memory).
const BRANCHES_DB: f64 = 5.0;

/// Noise figure of a receiver of which none is stated (common practice, no source).
const USUAL_FIGURE: Db = Db::new(5.0);

/// Levels of one receiver in one bandwidth while the interference was there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OwnTest {
    /// On the antenna, own transmitters off.
    pub on_antenna: Dbm,
    /// With a dummy load in the place of the antenna.
    pub on_load: Option<Dbm>,
    /// On the antenna, own transmitters on.
    pub keyed: Option<Dbm>,
    /// On a second antenna of the same service.
    pub second_antenna: Option<Dbm>,
    /// The bandwidth.
    pub bandwidth: Option<Hertz>,
    /// Noise figure of the receiver.
    pub noise_figure: Option<Db>,
}

/// Where it comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ComesFrom {
    /// In by the antenna, and not made by the own transmitters.
    Outside,
    /// The own system has a part in it.
    OwnSystem,
    /// The levels do not tell.
    NotTold,
}

/// What one comparison says.
struct Told {
    source: ComesFrom,
    sentence: String,
}

fn told(source: ComesFrom, sentence: String) -> Told {
    Told { source, sentence }
}

/// Judges a test: the verdict, and sentences with the verdict first.
///
/// From outside it comes only where the dummy load was tried and takes it away, and where keying the own transmitters was tried
/// and adds nothing. Levels are compared as differences in decibels; what comes in by the antenna is the difference of powers.
pub fn own_system(test: &OwnTest) -> (ComesFrom, Vec<String>) {
    let parts = [on_load(test), by_antenna(test), keyed(test), branches(test)];
    let any = |source| parts.iter().flatten().any(|t| t.source == source);
    let tried = test.on_load.is_some() && test.keyed.is_some();
    let source = match (any(ComesFrom::OwnSystem), any(ComesFrom::NotTold) || !tried) {
        (true, _) => ComesFrom::OwnSystem,
        (false, true) => ComesFrom::NotTold,
        (false, false) => ComesFrom::Outside,
    };
    let verdict = match source {
        ComesFrom::Outside => {
            "It comes from outside of the own system: in by the antenna, and the own transmitters add nothing."
        }
        ComesFrom::OwnSystem => "The own system has a part in it: look there before anywhere else.",
        ComesFrom::NotTold => "These levels do not show that it comes from outside of the own system.",
    };
    let mut sentences = vec![verdict.to_owned()];
    sentences.extend(parts.into_iter().flatten().map(|t| t.sentence));
    if test.on_load.is_none() {
        sentences.push(
            "A dummy load in the place of the antenna was not tried: it shows what the receiver makes itself.".to_owned(),
        );
    }
    if test.keyed.is_none() {
        sentences.push(
            "Whether the own transmitters make it was not tried: read the level with them on, then with one after the other off."
                .to_owned(),
        );
    }
    (source, sentences)
}

/// More mixtures than this are counted, not named.
const MOST_NAMED: usize = 6;

/// Which mixtures of the own carriers fall on the victim, no farther than `within`, in a sentence; those of low order first.
/// That one falls there does not show that it is made.
pub fn own_mixtures(carriers: &[Hertz], victim: Hertz, within: Hertz) -> String {
    let found = products(carriers, victim, within);
    let about = format!("within {:.1} kHz of {} MHz", within.value() / 1e3, victim.value() / 1e6);
    if found.is_empty() {
        return format!("No mixture of the own carriers up to order {HIGHEST_ORDER} falls {about}.");
    }
    let one = |p: &Product| format!("{p} (order {}, {:+.1} kHz)", p.order, p.offset.value() / 1e3);
    let named: Vec<String> = found.iter().take(MOST_NAMED).map(one).collect();
    let more = match found.len().saturating_sub(MOST_NAMED) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    let carriers: Vec<String> =
        carriers.iter().enumerate().map(|(i, f)| format!("f{} {} MHz", i + 1, f.value() / 1e6)).collect();
    format!(
        "Mixtures of the own carriers that fall {about}: {}{more}; {}. Switch those off first.",
        named.join(", "),
        carriers.join(", ")
    )
}

/// The receiver alone against its thermal noise.
fn on_load(test: &OwnTest) -> Option<Told> {
    let (load, bandwidth) = (test.on_load?, test.bandwidth?);
    let figure = test.noise_figure.unwrap_or(USUAL_FIGURE);
    let floor = noise_floor(bandwidth, figure)?;
    let above = load.value() - floor.value();
    let assumed = if test.noise_figure.is_some() { "" } else { ", assumed" };
    let of = format!(
        "thermal noise, {:.1} dBm in {} kHz at a noise figure of {:.1} dB{assumed} (k·290 K·B)",
        floor.value(),
        bandwidth.value() / 1e3,
        figure.value()
    );
    Some(match above > UNWELL_DB {
        true => told(
            ComesFrom::OwnSystem,
            format!(
                "On a dummy load the receiver shows {above:.0} dB more than {of}: it is disturbed from within, by its supply or by \
                 a leak."
            ),
        ),
        false => told(
            ComesFrom::Outside,
            format!("On a dummy load the receiver is well: {above:+.1} dB from {of}."),
        ),
    })
}

/// The antenna against the load.
fn by_antenna(test: &OwnTest) -> Option<Told> {
    let (load, antenna) = (test.on_load?, test.on_antenna);
    let more = antenna.value() - load.value();
    if more >= CLEAR_DB {
        let own = power_sum(&[load])?.value();
        let outside = 10.0 * (10f64.powf(antenna.value() / 10.0) - 10f64.powf(own / 10.0)).log10();
        let sentence = format!(
            "The antenna brings {more:.1} dB more than a dummy load: {outside:.1} dBm come in by it (difference of powers)."
        );
        return Some(told(ComesFrom::Outside, sentence));
    }
    let sentence = format!("The antenna brings only {more:+.1} dB against a dummy load");
    Some(match more < NONE_DB {
        true => told(ComesFrom::OwnSystem, format!("{sentence}: what is heard is made behind the antenna.")),
        false => told(ComesFrom::NotTold, format!("{sentence}: less than {CLEAR_DB:.0} dB tell nothing.")),
    })
}

/// Own transmitters on against off.
fn keyed(test: &OwnTest) -> Option<Told> {
    let more = test.keyed?.value() - test.on_antenna.value();
    Some(if more >= CLEAR_DB {
        let sentence = format!(
            "With the own transmitters on it is {more:.1} dB more: intermodulation or noise of the own system; switch them off one \
             after the other. In passive intermodulation the product falls with the power of each."
        );
        told(ComesFrom::OwnSystem, sentence)
    } else if more.abs() < NONE_DB {
        told(ComesFrom::Outside, format!("The own transmitters add nothing ({more:+.1} dB)."))
    } else {
        let sentence = format!(
            "With the own transmitters on it is {more:+.1} dB: read both again, in turn, several times."
        );
        told(ComesFrom::NotTold, sentence)
    })
}

/// Two antennas of the same service.
fn branches(test: &OwnTest) -> Option<Told> {
    let apart = (test.second_antenna?.value() - test.on_antenna.value()).abs();
    Some(match apart <= BRANCHES_DB {
        true => told(
            ComesFrom::Outside,
            format!(
                "Both antennas hear it alike ({apart:.1} dB apart, up to {BRANCHES_DB:.0} dB are usual)."
            ),
        ),
        false => told(
            ComesFrom::NotTold,
            format!(
                "One antenna hears {apart:.1} dB more than the other (up to {BRANCHES_DB:.0} dB are usual): look at its feeder, \
                 connectors and amplifier, unless it looks another way."
            ),
        ),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn test() -> OwnTest {
        OwnTest {
            on_antenna: Dbm::new(-92.0),
            on_load: Some(Dbm::new(-105.5)),
            keyed: Some(Dbm::new(-92.3)),
            second_antenna: Some(Dbm::new(-94.0)),
            bandwidth: Some(Hertz::new(3.84e6)),
            noise_figure: Some(Db::new(2.0)),
        }
    }

    /// −106 dBm in 3.84 MHz at a noise figure of 2 dB: −174 + 10 log 3.84·10⁶ + 2 (thermal noise by Recommendation ITU-R P.372). Of
    /// −92 dBm with −105.5 dBm of the receiver's own, −92.2 dBm come in: 10 log (10^−9.2 − 10^−10.55) by hand.
    #[test]
    fn what_goes_away_with_the_antenna_and_stays_with_the_transmitters_comes_from_outside() {
        let (source, sentences) = own_system(&test());
        assert_eq!(source, ComesFrom::Outside, "{sentences:?}");
        let all = sentences.join(" ");
        assert!(all.contains("-106.1 dBm in 3840 kHz"), "{all}");
        assert!(all.contains("-92.2 dBm come in"), "{all}");
    }

    /// 2 × 851.5 − 861.5 = 841.5 MHz, by hand; of two carriers 10 MHz apart no other mixture up to order 5 comes as near.
    #[test]
    fn a_mixture_of_the_own_carriers_is_named() {
        let mhz = |f: f64| Hertz::new(1e6 * f);
        let told = own_mixtures(&[mhz(851.5), mhz(861.5)], mhz(841.5), Hertz::new(12.5e3));
        assert!(told.contains("2 f1 \u{2212} f2 (order 3, +0.0 kHz); f1 851.5 MHz, f2 861.5 MHz"), "{told}");
        let none = own_mixtures(&[mhz(851.5), mhz(861.6)], mhz(841.5), Hertz::new(12.5e3));
        assert!(none.starts_with("No mixture"), "{none}");
    }

    /// Each fault alone turns the verdict.
    #[test]
    fn each_fault_alone_turns_the_verdict() {
        let whole = test();
        let at = |change: &dyn Fn(&mut OwnTest)| {
            let mut changed = whole;
            change(&mut changed);
            own_system(&changed).0
        };
        assert_eq!(at(&|t| t.on_load = Some(Dbm::new(-92.4))), ComesFrom::OwnSystem);
        assert_eq!(at(&|t| t.on_load = Some(Dbm::new(-98.0))), ComesFrom::OwnSystem, "ill on a load");
        assert_eq!(at(&|t| t.keyed = Some(Dbm::new(-84.0))), ComesFrom::OwnSystem);
        assert_eq!(at(&|t| t.second_antenna = Some(Dbm::new(-110.0))), ComesFrom::NotTold);
        // Between clear and none.
        assert_eq!(at(&|t| t.keyed = Some(Dbm::new(-90.0))), ComesFrom::NotTold);
        let little = |t: &mut OwnTest| (t.on_load, t.bandwidth) = (Some(Dbm::new(-94.0)), None);
        assert_eq!(at(&little), ComesFrom::NotTold);
        assert_eq!(at(&|t| t.keyed = None), ComesFrom::NotTold);
        assert_eq!(at(&|t| t.on_load = None), ComesFrom::NotTold);
        assert_eq!(at(&|t| t.second_antenna = None), ComesFrom::Outside);
    }
}
