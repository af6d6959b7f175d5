//! What is told once for a table of sectors.

use crate::{
    finding::{Finding, Origin},
    ingest::{log::Log, sheet::Sheet},
    radio::noise::Averaging,
};

/// What the rows have given occasion to tell.
#[derive(Debug, Default)]
pub struct SectorOnce {
    /// A level was taken to hold the receiver's own noise.
    pub alone_in_level: bool,
    /// A level agrees with floor and rise only without the receiver's own noise.
    pub without_noise: bool,
    unstated: usize,
    decibels: usize,
    without_gain: usize,
}

impl SectorOnce {
    /// Counts how a row was averaged.
    pub fn averaged(&mut self, averaging: Option<Averaging>) {
        self.unstated += usize::from(averaging.is_none());
        self.decibels += usize::from(averaging == Some(Averaging::Decibels));
    }

    /// Counts rows without a gain.
    pub fn gains(&mut self, stated: bool) {
        self.without_gain += usize::from(!stated);
    }

    /// Tells it.
    pub fn tell(&self, sheet: &Sheet, log: &mut Log) {
        let file = || Origin::file(sheet.name);
        let mut assume = |given: bool, code, message: &str, hint: &str| {
            if given {
                log.tell(Finding::assumed(code, message).at(file()).hint(hint));
            }
        };
        let message = format!(
            "{} level(s) do not say how they were averaged: powers (linear) or decibels? For an interferer that is always on it makes no difference, and that is taken for granted",
            self.unstated
        );
        let hint = "state --averaging linear or --averaging db, or add a column averaging";
        assume(self.unstated > 0, "averaging-unstated", &message, hint);
        let message = format!(
            "{} level(s) are means of decibels: of an interferer that comes and goes they tell too little, and the less the stronger it is",
            self.decibels
        );
        let hint = "take hours in which it was always on, or means of powers";
        assume(self.decibels > 0, "averaged-in-decibels", &message, hint);
        let message = "levels are taken to hold the receiver's own noise: the floor is taken off as a power";
        let hint = "name the column interference_dbm where it holds the interference alone";
        assume(self.alone_in_level, "level-holds-noise", message, hint);
        let message = "levels agree with floor and rise only as the interference alone; the rises are used";
        let hint = "name the column interference_dbm where it holds the interference alone";
        assume(self.without_noise, "level-without-noise", message, hint);
        let message = format!(
            "{} sector(s) have no gain: they are taken to have that of the others, or one alike",
            self.without_gain
        );
        let hint = "write the gain over an isotropic antenna in a column antenna_gain_dbi";
        assume(self.without_gain > 0, "gain-unstated", &message, hint);
    }
}
