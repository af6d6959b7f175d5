//! A model taken as it is: slope and intercept known, the radiated power not.

use std::fmt;

use crate::{
    radio::{
        Breach, City, Environment, Link, Loss, Model, PathLossError, Quantity, Scenario, Sight, Site,
        Terrain, Village,
    },
    units::{Db, Dbm, Hertz, Metres, Sigma},
};

/// A model by its name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ModelName {
    /// Free space.
    FreeSpace,
    /// Hata's formulas.
    Hata,
    /// Their extension to 2 GHz.
    Cost231,
    /// Street canyons of TR 38.901.
    Umi,
    /// Towns of TR 38.901.
    Uma,
    /// Country and villages of TR 38.901.
    Rma,
    /// Site-general short paths of P.1411, and of P.1238 indoors.
    SiteGeneral,
}

/// A model that has no form for a kind of place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NoForm {
    /// The model.
    pub model: ModelName,
    /// The kind of place.
    pub environment: Environment,
}

impl fmt::Display for NoForm {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let fits = |e: &Environment| self.model.model(*e, Sight::Blocked).is_ok();
        let places: Vec<&str> = Environment::ALL.iter().filter(|e| fits(e)).map(|e| e.word()).collect();
        write!(
            f,
            "the model {} has no form for the environment {}: it is for {}",
            self.model.word(),
            self.environment.word(),
            places.join(", ")
        )
    }
}

impl std::error::Error for NoForm {}

impl ModelName {
    /// All names.
    pub const ALL: [Self; 7] =
        [Self::FreeSpace, Self::Hata, Self::Cost231, Self::Umi, Self::Uma, Self::Rma, Self::SiteGeneral];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::FreeSpace => "free-space",
            Self::Hata => "hata",
            Self::Cost231 => "cost231",
            Self::Umi => "umi",
            Self::Uma => "uma",
            Self::Rma => "rma",
            Self::SiteGeneral => "site-general",
        }
    }

    /// The model that [`ModelName::word`] is the word for.
    pub fn named(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|m| m.word() == word)
    }

    /// Whose model it is.
    pub const fn source(self) -> &'static str {
        match self {
            Self::FreeSpace => "ITU-R P.525",
            Self::Hata => "Hata 1980, small or medium-sized town",
            Self::Cost231 => "COST 231, small or medium-sized town",
            Self::Umi | Self::Uma | Self::Rma => "3GPP TR 38.901 Table 7.4.1-1",
            Self::SiteGeneral => "ITU-R P.1411 and P.1238, site-general",
        }
    }

    /// The model in its form for a kind of place, with or without sight of the emitter where it tells them apart: Hata's and
    /// COST 231's for a small or medium-sized town, TR 38.901's country with the report's own buildings and streets.
    ///
    /// # Errors
    /// [`NoForm`] where the model is not for such a place.
    pub fn model(self, environment: Environment, sight: Sight) -> Result<Model, NoForm> {
        use Environment::{Indoor, Open, Street, Suburban, Urban};
        let site = |clear, blocked| Model::SiteGeneral(if sight == Sight::Clear { clear } else { blocked });
        Ok(match (self, environment) {
            (Self::FreeSpace, _) => Model::FreeSpace,
            (Self::Hata, Open) => Model::Hata(Terrain::Open, City::Small),
            (Self::Hata, Suburban) => Model::Hata(Terrain::Suburban, City::Small),
            (Self::Hata, Urban) => Model::Hata(Terrain::Urban, City::Small),
            (Self::Cost231, Urban) => Model::Cost231(City::Small),
            (Self::Umi, Street | Urban) => Model::Tr38901(Scenario::StreetCanyon, sight),
            (Self::Uma, Urban) => Model::Tr38901(Scenario::UrbanMacro, sight),
            (Self::Rma, Open | Suburban) => Model::Tr38901(Scenario::RuralMacro(Village::default()), sight),
            (Self::SiteGeneral, Street) => site(Site::StreetClear, Site::StreetBlockedHigh),
            (Self::SiteGeneral, Suburban) => site(Site::StreetClear, Site::StreetBlockedHouses),
            (Self::SiteGeneral, Urban) => site(Site::RoofClear, Site::RoofBlockedHigh),
            (Self::SiteGeneral, Indoor) => site(Site::OfficeClear, Site::OfficeBlocked),
            _ => return Err(NoForm { model: self, environment }),
        })
    }
}

/// A model at one frequency and pair of heights: a loss as a function of distance alone.
///
/// A level is then EIRP − loss (isotropic antennas), with the EIRP the only unknown of the path. A solver that steps by
/// slopes takes [`FixedModel::at`] at each distance; one that knows a single power law takes [`FixedModel::over`]: with it,
/// L = P − 10 n log10 d, n its exponent and P = EIRP − its intercept.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FixedModel {
    /// The model.
    pub model: Model,
    /// The frequency.
    pub frequency: Hertz,
    /// Height above ground of the higher antenna.
    pub upper: Metres,
    /// Height above ground of the lower antenna.
    pub lower: Metres,
}

/// A loss, with what its source does not cover.
#[derive(Clone, Debug, PartialEq)]
pub struct Told {
    /// Loss, slope, exponent and intercept there.
    pub loss: Loss,
    /// What lies outside the model's limits; empty where it may be asked.
    pub breaches: Vec<Breach>,
}

/// The one power law in the slant distance that comes nearest to a model over a span of distances.
#[derive(Clone, Debug, PartialEq)]
pub struct Straight {
    /// Its exponent n.
    pub exponent: f64,
    /// Its loss at 1 m.
    pub intercept: Db,
    /// The greatest difference from the model within the span: none for a model that is a power law.
    pub departure: Db,
    /// Standard deviation about the model that its source states, at the middle of the span.
    pub shadowing: Option<Sigma<Db>>,
    /// What lies outside the model's limits at either end of the span.
    pub breaches: Vec<Breach>,
}

/// Distances at which a model is compared with its straight line, evenly over the logarithm.
const POINTS: u32 = 64;

impl FixedModel {
    fn link(&self, distance: Metres) -> Link {
        Link { frequency: self.frequency, distance, upper: self.upper, lower: self.lower }
    }

    /// The loss over a horizontal distance, extrapolated where the model's source does not cover it; what it does not cover
    /// is told.
    ///
    /// # Errors
    /// [`PathLossError::Unusable`]; never [`PathLossError::Outside`] but where the formula gives no number there.
    pub fn at(&self, distance: Metres) -> Result<Told, PathLossError> {
        match self.model.loss(&self.link(distance)) {
            Ok(loss) => Ok(Told { loss, breaches: Vec::new() }),
            Err(PathLossError::Outside { breaches, extrapolated: Some(loss) }) => Ok(Told { loss, breaches }),
            Err(error) => Err(error),
        }
    }

    /// The level over a horizontal distance between isotropic antennas, for a radiated power (EIRP).
    ///
    /// # Errors
    /// As [`FixedModel::at`].
    pub fn level(&self, radiated: Dbm, distance: Metres) -> Result<Dbm, PathLossError> {
        Ok(Dbm::new(radiated.value() - self.at(distance)?.loss.loss.value()))
    }

    /// The power law nearest to the model between two horizontal distances: least squares over the logarithm of the slant
    /// distance.
    ///
    /// # Errors
    /// As [`FixedModel::at`]; [`PathLossError::Unusable`] also unless `nearest` lies below `farthest`.
    pub fn over(&self, nearest: Metres, farthest: Metres) -> Result<Straight, PathLossError> {
        let (from, to) = (nearest.value(), farthest.value());
        if !(from > 0.0 && from < to && to.is_finite()) {
            return Err(PathLossError::Unusable(Quantity::Distance));
        }
        let distance = |i: u32| Metres::new(from * (to / from).powf(f64::from(i) / f64::from(POINTS)));
        let mut points = Vec::with_capacity(POINTS as usize + 1);
        for i in 0..=POINTS {
            let loss = self.at(distance(i))?.loss.loss.value();
            points.push((10.0 * self.link(distance(i)).slant().value().log10(), loss));
        }
        let count = points.len() as f64;
        let mean = |f: fn(&(f64, f64)) -> f64| points.iter().map(f).sum::<f64>() / count;
        let (x, y) = (mean(|p| p.0), mean(|p| p.1));
        let spread: f64 = points.iter().map(|p| (p.0 - x).powi(2)).sum();
        let exponent = points.iter().map(|p| (p.0 - x) * (p.1 - y)).sum::<f64>() / spread;
        let intercept = y - exponent * x;
        if !(exponent + intercept).is_finite() {
            // Distances so alike, or so far below the heights, that there is no slope.
            return Err(PathLossError::Unusable(Quantity::Distance));
        }
        let apart = |p: &(f64, f64)| (p.1 - intercept - exponent * p.0).abs();
        let mut breaches = self.at(nearest)?.breaches;
        let beyond = self.at(farthest)?.breaches;
        breaches.extend(beyond.into_iter().filter(|b| b.quantity == Quantity::Distance));
        Ok(Straight {
            exponent,
            intercept: Db::new(intercept),
            departure: Db::new(points.iter().map(apart).fold(0.0, f64::max)),
            shadowing: self.model.shadowing(&self.link(distance(POINTS / 2))),
            breaches,
        })
    }
}

impl fmt::Display for Straight {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "loss {:.1} dB at 1 m, exponent {:.2}", self.intercept.value(), self.exponent)?;
        // Below, the difference would print as zero.
        if self.departure.value() >= 0.05 {
            write!(f, " (a straight line; the model departs by up to {:.1} dB)", self.departure.value())?;
        }
        match self.shadowing {
            Some(sigma) => write!(f, ", shadowing {} dB", sigma.to_db())?,
            None => write!(f, ", shadowing not stated by its source")?,
        }
        for breach in &self.breaches {
            write!(f, "; outside its source: {breach}")?;
        }
        Ok(())
    }
}
