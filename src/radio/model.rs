//! All models of path loss behind one door.

use crate::{
    radio::{
        clutter,
        free_space::{self, PowerLaw},
        hata::{self, City, Terrain},
        knife_edge::Edge,
        link::{Link, Loss, PathLossError, judged},
        site_general::Site,
        tr38901::{self, Scenario, Sight},
        validity::Validity,
    },
    units::{Confidence, Db, Hertz, Sigma},
};

/// A model of path loss. Which one fits a place is not decided here.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Model {
    /// Free space ([`crate::sources::P525`]).
    FreeSpace,
    /// A power law in distance ([`crate::sources::RAPPAPORT2002`]).
    PowerLaw(PowerLaw),
    /// Hata's formulas ([`crate::sources::HATA1980`]).
    Hata(Terrain, City),
    /// Their extension to 2 GHz, built-up areas only ([`crate::sources::COST231`]).
    Cost231(City),
    /// Mobile networks ([`crate::sources::TR38901`]).
    Tr38901(Scenario, Sight),
    /// Short paths ([`crate::sources::P1411`], [`crate::sources::P1238`]).
    SiteGeneral(Site),
    /// Free space over one knife edge ([`crate::sources::P526`]).
    KnifeEdge(Edge),
    /// Free space plus the clutter at one end that the given share of locations does not exceed
    /// ([`crate::sources::P2108`]).
    Cluttered(Confidence),
}

impl Model {
    /// Median loss of `link` between isotropic antennas, with its derivative by the logarithm of distance (analytic), the
    /// exponent it implies there and the intercept that goes with it.
    ///
    /// # Errors
    /// [`PathLossError::Unusable`] for numbers that no path has; [`PathLossError::Outside`] where the model's source does
    /// not cover the path: the extrapolated loss is in there, to be taken deliberately.
    pub fn loss(&self, link: &Link) -> Result<Loss, PathLossError> {
        judged(link, &self.validity(link.frequency), |link| match self {
            Self::FreeSpace => free_space::line(link),
            Self::PowerLaw(law) => law.line(link),
            Self::Hata(terrain, city) => hata::line(link, *terrain, *city),
            Self::Cost231(city) => hata::extended(link, *city),
            Self::Tr38901(scenario, sight) => tr38901::line(link, *scenario, *sight),
            Self::SiteGeneral(site) => site.line(link),
            Self::KnifeEdge(edge) => edge.line(link),
            Self::Cluttered(locations) => clutter::over_free_space(link, *locations),
        })
    }

    /// Where the model may be asked; at `frequency`, because free space begins at λ/2π.
    pub fn validity(&self, frequency: Hertz) -> Validity {
        match self {
            Self::FreeSpace => free_space::validity(frequency),
            Self::PowerLaw(law) => law.validity(),
            Self::Hata(..) => hata::VALIDITY,
            Self::Cost231(_) => hata::EXTENDED,
            Self::Tr38901(scenario, sight) => tr38901::validity(*scenario, *sight),
            Self::SiteGeneral(site) => site.validity(),
            Self::KnifeEdge(edge) => edge.validity(frequency),
            Self::Cluttered(_) => clutter::VALIDITY,
        }
    }

    /// Standard deviation of real losses about the model's, where its source states one.
    pub fn shadowing(&self, link: &Link) -> Option<Sigma<Db>> {
        match self {
            Self::Tr38901(scenario, sight) => tr38901::shadowing(link, *scenario, *sight),
            Self::SiteGeneral(site) => site.shadowing(),
            _ => None,
        }
    }
}

/// Loss in the clutter about one antenna that the share `locations` of places does not exceed, without the path itself
/// ([`crate::sources::P2108`], § 3.2). It may be added at both ends only from 1 km on.
///
/// # Errors
/// As [`Model::loss`]: 0.5 to 67 GHz, 250 m and beyond. The heights of `link` play no part.
pub fn clutter_loss(link: &Link, locations: Confidence) -> Result<Loss, PathLossError> {
    judged(link, &clutter::VALIDITY, |link| clutter::line(link, locations))
}
