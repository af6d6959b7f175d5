//! Models taken as they are, and what a kind of place lets one take for granted about levels.

use azimark::{
    radio::{
        Environment, FixedModel, Model, ModelName, PathLossError, Quantity, Radiated, Scenario, Sight, Site,
        Village,
    },
    units::{Dbm, Hertz, Metres, Sigma},
};

use super::{ROUNDING, anyhow, close, link};

fn fixed(name: &str, environment: Environment, sight: Sight, mhz: f64, heights: (f64, f64)) -> FixedModel {
    FixedModel {
        model: ModelName::named(name).unwrap().model(environment, sight).unwrap(),
        frequency: Hertz::mhz(mhz),
        upper: Metres::new(heights.0),
        lower: Metres::new(heights.1),
    }
}

/// 44.9 − 6.55 log 30 = 35.2249 dB per decade, and the loss of 126.41 dB at 1 km and 900 MHz with antennas at 30 and 1.5 m
/// (Hata 1980; 69.55 + 26.16 log 900 − 13.82 log 30 − 0.0159, computed with Python).
#[test]
fn hata_is_one_power_law_whose_slope_is_known() {
    let model = fixed("hata", Environment::Urban, Sight::Blocked, 900.0, (30.0, 1.5));
    let line = model.over(Metres::km(1.0), Metres::km(10.0)).unwrap();
    close(line.exponent, 3.522_49, 5e-4);
    close(line.intercept.value() + 30.0 * line.exponent, 126.403_6, 0.02);
    // Ground and slant distance differ by 0.04 % at 1 km.
    assert!(line.departure.value() < 0.01 && line.breaches.is_empty() && line.shadowing.is_none());
    // Level of 50 dBm EIRP by the line and by the model itself.
    let level = model.level(Dbm::new(50.0), Metres::km(3.0)).unwrap().value();
    close(level, 50.0 - line.intercept.value() - 10.0 * line.exponent * 3_000f64.log10(), 0.01);
    let near = model.over(Metres::new(100.0), Metres::km(10.0)).unwrap();
    assert_eq!(near.breaches.len(), 1);
    assert_eq!(near.breaches[0].quantity, Quantity::Distance);
    assert!(near.to_string().contains("outside its source: the distance, 100 m"), "{near}");
    assert!(near.to_string().contains("shadowing not stated"), "{near}");
    let both = model.over(Metres::new(100.0), Metres::km(100.0)).unwrap();
    assert_eq!(both.breaches.len(), 2);
}

/// The coefficients of the tables themselves (P.1411, streets in sight and roofs out of it) and of free space.
#[test]
fn straight_models_come_back_as_they_were_put_in() {
    for (name, environment, sight, site) in [
        ("site-general", Environment::Street, Sight::Clear, Site::StreetClear),
        ("site-general", Environment::Suburban, Sight::Blocked, Site::StreetBlockedHouses),
        ("site-general", Environment::Urban, Sight::Blocked, Site::RoofBlockedHigh),
        ("site-general", Environment::Indoor, Sight::Clear, Site::OfficeClear),
    ] {
        let model = fixed(name, environment, sight, 2400.0, (4.0, 1.5));
        let line = model.over(Metres::new(60.0), Metres::new(160.0)).unwrap();
        let c = site.coefficients();
        close(line.exponent, c.alpha, 1e-9);
        close(line.intercept.value(), c.beta + 10.0 * c.gamma * 2.4f64.log10(), 1e-8);
        close(line.departure.value(), 0.0, 1e-9);
        close(line.shadowing.unwrap().to_db(), c.sigma, 0.0);
    }
    let free = fixed("free-space", Environment::Open, Sight::Clear, 146.52, (30.0, 1.5));
    let line = free.over(Metres::new(20.0), Metres::km(20.0)).unwrap();
    close(line.exponent, 2.0, 1e-10);
    // Computed with Python: 20 log10(4π f/c).
    close(line.intercept.value(), 75.765_721_421_7 - 60.0, 1e-9);
}

/// A model of two slopes is no straight line, and its figure says by how much: 22 dB per decade before the breakpoint and 40
/// beyond; the nearest line to a break of 18 dB per decade over a decade either side departs by less than half of that.
#[test]
fn a_broken_line_tells_its_departure() {
    let model = fixed("uma", Environment::Urban, Sight::Clear, 900.0, (25.0, 1.5));
    // Breakpoint 4 · 24 · 0.5 · 900e6/3e8 = 144 m.
    let line = model.over(Metres::new(14.4), Metres::new(1440.0)).unwrap();
    assert!(line.exponent > 2.2 && line.exponent < 4.0, "{line}");
    assert!(line.departure.value() > 2.0 && line.departure.value() < 9.0, "{line}");
    assert!(line.to_string().contains("departs by up to"), "{line}");
    close(line.shadowing.unwrap().to_db(), 4.0, 0.0);
    // At each distance the slope is the model's own.
    let far = model.at(Metres::new(800.0)).unwrap();
    close(far.loss.exponent, 4.0, ROUNDING);
    assert!(far.breaches.is_empty());
}

#[test]
fn every_name_is_read_back_and_every_place_has_a_model_or_a_reason() {
    let mut fits = 0;
    for name in ModelName::ALL {
        assert_eq!(ModelName::named(name.word()), Some(name));
        assert!(!name.source().is_empty());
        for environment in Environment::ALL {
            assert_eq!(Environment::named(environment.word()), Some(environment));
            match name.model(environment, Sight::Blocked) {
                Ok(_) => fits += 1,
                Err(error) => {
                    let told = error.to_string();
                    assert!(told.contains(environment.word()) && told.contains(name.word()), "{told}");
                    let rest = told.split("it is for ").nth(1).unwrap();
                    assert!(!rest.is_empty() && rest.split(", ").all(|w| w != environment.word()), "{told}");
                }
            }
        }
    }
    // 5 of free space, 3 of Hata, 1 of COST 231, 2, 1 and 2 of TR 38.901, 4 of short paths.
    assert_eq!(fits, 18);
    assert_eq!((ModelName::named("free space"), Environment::named("")), (None, None));
    let country = ModelName::Rma.model(Environment::Open, Sight::Clear).unwrap();
    assert_eq!(country, Model::Tr38901(Scenario::RuralMacro(Village::default()), Sight::Clear));
}

#[test]
fn distances_that_are_none_are_refused() {
    let model = fixed("free-space", Environment::Open, Sight::Clear, 433.92, (1.5, 1.5));
    for (from, to) in [(0.0, 10.0), (10.0, 10.0), (20.0, 10.0), (10.0, f64::INFINITY), (f64::NAN, 10.0)] {
        let found = model.over(Metres::new(from), Metres::new(to));
        assert_eq!(found, Err(PathLossError::Unusable(Quantity::Distance)), "{from} {to}");
    }
    assert!(model.at(Metres::new(-1.0)).is_err());
    // Far above the path its slope is lost in rounding: a figure or a refusal, never a number that is none.
    let tower = FixedModel { upper: Metres::new(1e12), ..model };
    if let Ok(line) = tower.over(Metres::new(1e-6), Metres::new(2e-6)) {
        assert!((line.exponent + line.intercept.value()).is_finite());
    }
}

/// READ (tr3gpp 0.2.0, Tables 7.4.1-1 and 7.5-6; Gudmundson's suburb in a text that quotes him): the lower and upper figures of
/// shadowing (dB) and decorrelation (m). From memory: Gudmundson's town.
#[test]
fn every_kind_of_place_has_its_printed_numbers() {
    let figures = [
        (Environment::Open, (4.0, 8.0), (37.0, 120.0)),
        (Environment::Suburban, (4.0, 8.0), (40.0, 503.9)),
        (Environment::Urban, (4.0, 7.8), (8.3, 50.0)),
        (Environment::Street, (4.0, 8.2), (8.3, 13.0)),
        (Environment::Indoor, (3.0, 8.29), (6.0, 10.0)),
    ];
    for (environment, shadowing, decorrelation) in figures {
        let prior = environment.level_prior(Hertz::mhz(433.92), None).unwrap();
        let plain = environment.prior(Hertz::mhz(433.92)).unwrap();
        assert_eq!(prior.exponent(), (plain.exponent(), plain.exponent_deviation()));
        for (found, exact) in [(prior.shadowing, shadowing), (prior.decorrelation, decorrelation)] {
            assert_eq!((found.ends[0].value, found.ends[1].value), exact, "{environment:?}");
            close(found.median(), f64::sqrt(exact.0 * exact.1), 1e-12);
            let half = 0.5 * f64::ln(exact.1 / exact.0);
            close(found.deviation(), half.max(found.least), 1e-12);
        }
        // Decorrelation distances are uncertain by a factor of two at least.
        assert!(prior.decorrelation.deviation() >= 2f64.ln());
        // The single figures of the loss's prior lie between.
        let within = |b: (f64, f64), x: f64| x >= b.0 && x <= b.1;
        assert!(
            within(shadowing, plain.shadowing.to_db()) && within(decorrelation, plain.decorrelation.value())
        );
        let told = prior.to_string();
        assert_eq!(prior.describe().len(), 5);
        let ends = prior.shadowing.ends.iter().chain(&prior.decorrelation.ends);
        for source in ends.map(|e| e.source).chain(plain.ends.map(|e| e.source)) {
            assert!(told.contains(source), "{told}");
        }
        assert!(told.contains(environment.word()) && told.contains("not stated: 30 ± 20 dBm"), "{told}");
        assert_eq!(told.contains("own least"), half_below_two(decorrelation), "{told}");
    }
    assert_eq!(Environment::Open.level_prior(Hertz::new(0.0), None), None);
}

fn half_below_two(ends: (f64, f64)) -> bool {
    ends.1 / ends.0 < 4.0
}

#[test]
fn a_stated_power_enters_as_it_was_stated() {
    let stated = Radiated { mean: Dbm::new(37.0), sigma: Sigma::db(2.0).unwrap() };
    let prior = Environment::Urban.level_prior(Hertz::mhz(433.92), Some(stated)).unwrap();
    // 25.195976578902382 dB at 1 m (20 log10(4π f/c), computed with Python).
    close(prior.start().mean.value(), 37.0 - 25.195_976_578_902_382, ROUNDING);
    close(prior.start().sigma.to_db(), 2.0f64.hypot(prior.intercept_sigma.to_db()), 1e-12);
    assert!(prior.to_string().contains("as stated, 37.0 ± 2.0 dBm"), "{prior}");
    let unknown = Environment::Urban.level_prior(Hertz::mhz(433.92), None).unwrap();
    close(unknown.start().mean.value(), 30.0 - 25.195_976_578_902_382, ROUNDING);
    assert!(unknown.start().sigma.to_db() > 20.0);
    let broken = Radiated { mean: Dbm::new(f64::NAN), ..stated };
    assert_eq!(Environment::Urban.level_prior(Hertz::mhz(433.92), Some(broken)), None);
}

/// The deviation of the loss at 1 m is the root mean square of what the models in sight lose there beyond free space at 1 GHz,
/// each continued along its own power law.
#[test]
fn the_intercept_is_as_uncertain_as_the_models_in_sight_are() {
    let country = Scenario::RuralMacro(Village::default());
    let models = [
        (Model::Tr38901(Scenario::StreetCanyon, Sight::Clear), 10.0),
        (Model::Tr38901(Scenario::UrbanMacro, Sight::Clear), 25.0),
        (Model::Tr38901(country, Sight::Clear), 35.0),
        (Model::Tr38901(Scenario::IndoorOffice, Sight::Clear), 3.0),
        (Model::SiteGeneral(Site::StreetClear), 4.0),
        (Model::SiteGeneral(Site::RoofClear), 20.0),
        (Model::SiteGeneral(Site::OfficeClear), 3.0),
        (Model::SiteGeneral(Site::CorridorClear), 3.0),
        (Model::SiteGeneral(Site::IndustryClear), 3.0),
    ];
    let beyond = models.map(|(model, upper)| {
        let path = link(1000.0, 30.0, upper, 1.5);
        let free = anyhow(&Model::FreeSpace, &path);
        anyhow(&model, &path).intercept.value() - free.intercept.value()
    });
    let rms = (beyond.iter().map(|b| b * b).sum::<f64>() / beyond.len() as f64).sqrt();
    println!("{beyond:.2?} dB, root mean square {rms:.2} dB");
    let prior = Environment::Open.level_prior(Hertz::mhz(1000.0), None).unwrap();
    close(prior.intercept_sigma.to_db(), rms, 0.05);
}
