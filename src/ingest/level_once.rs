//! What is told once for a log of levels, however many of its rows it concerns.

use crate::{
    finding::{Finding, Origin, clipped},
    ingest::{log::Log, sheet::Sheet},
};

/// Rows of one kind: how many, and the first.
#[derive(Clone, Copy, Debug, Default)]
pub struct Rows {
    count: usize,
    first: u64,
}

impl Rows {
    /// How many, and the first, where there are any.
    pub fn some(self) -> Option<(usize, u64)> {
        (self.count > 0).then_some((self.count, self.first))
    }

    /// One more.
    pub fn add(&mut self, line: u64) {
        if self.count == 0 {
            self.first = line;
        }
        self.count += 1;
    }
}

/// What the rows have given occasion to tell.
#[derive(Debug, Default)]
pub struct Told {
    /// Rows without a place.
    pub unplaced: Rows,
    /// Rows whose level has no unit.
    pub without_unit: Rows,
    /// The first level without a unit.
    pub example: Option<String>,
    /// Field strengths without an antenna.
    pub without_antenna: Rows,
    /// Levels that may or may not hold the attenuator.
    pub pad_unclear: Rows,
    /// Levels at or below the stated floor.
    pub at_floor: Rows,
    /// An attenuator was added.
    pub pads: bool,
    /// A corrected level stands beside the indicated one.
    pub both: bool,
    /// A cable's loss was added.
    pub cable: bool,
    /// 50 Ω were taken for granted.
    pub load_assumed: bool,
    /// The unit that the caller stated was not used.
    pub stated_unused: bool,
    /// A floor was brought to the antenna.
    pub floors: bool,
    /// The floor has another unit than the level.
    pub floor_unit: bool,
    /// Kinds of fix were numbers.
    pub fix_numbers: bool,
}

impl Told {
    /// Tells it.
    pub fn tell(&self, sheet: &Sheet, log: &mut Log) {
        self.refusals(sheet, log);
        self.assumptions(sheet, log);
        if self.floor_unit {
            let message = "the floor has another unit than the level: it is not used";
            let hint = "write both in the same unit";
            log.tell(Finding::doubtful("floor-unit", message).at(Origin::file(sheet.name)).hint(hint));
        }
    }

    fn refusals(&self, sheet: &Sheet, log: &mut Log) {
        let mut refuse = |rows: Rows, code, message: String, hint: &str| {
            if rows.count > 0 {
                log.tell(Finding::refused(code, message).at(sheet.origin(rows.first)).hint(hint));
            }
        };
        let count = self.without_unit.count;
        let example = clipped(self.example.as_deref().unwrap_or_default());
        let message = format!("{count} level(s) have no unit, the first is {example}");
        let hint =
            "−77 looks like dBm, +30 like dBµV: say which, with --level-unit dBm or in the header, level_dbm";
        refuse(self.without_unit, "unit-missing", message, hint);
        let count = self.pad_unclear.count;
        let message =
            format!("{count} level(s) were taken with an attenuator and do not say whether it is added");
        let hint = "name the column indicated_dbm or corrected_dbm, or state --attenuator added or not-added";
        refuse(self.pad_unclear, "attenuator-unclear", message, hint);
        let message = format!("{} field strength(s) without an antenna", self.without_antenna.count);
        let hint = "state the antenna factor in dB/m, or the gain in dBi with the frequency";
        refuse(self.without_antenna, "antenna-missing", message, hint);
    }

    fn assumptions(&self, sheet: &Sheet, log: &mut Log) {
        let mut assume = |given: bool, code, at: Origin, message: &str| {
            if given {
                log.tell(Finding::assumed(code, message).at(at));
            }
        };
        let file = || Origin::file(sheet.name);
        let message = format!("{} row(s) have no place", self.unplaced.count);
        assume(self.unplaced.count > 0, "no-place", sheet.origin(self.unplaced.first), &message);
        let message = format!("{} level(s) at or below the floor count as below it", self.at_floor.count);
        assume(self.at_floor.count > 0, "at-floor", sheet.origin(self.at_floor.first), &message);
        assume(self.pads, "attenuator-added", file(), "the attenuator is added to the level, once");
        let message = "the level beside the indicated one is taken to hold the attenuator already";
        assume(self.both, "attenuator-in-level", file(), message);
        assume(self.cable, "cable-added", file(), "the loss of the cable is added to the level, once");
        assume(self.load_assumed, "load-assumed", file(), "voltages are taken to stand across 50 Ω");
        let message = "the file says its unit, so that the one stated is not used";
        assume(self.stated_unused, "unit-from-file", file(), message);
        let message =
            "the floor is taken to be the receiver's: attenuator and cable are added to it as to the level";
        assume(self.floors && (self.pads || self.both || self.cable), "floor-at-receiver", file(), message);
        let message = "numbers of fixes are taken as NMEA's: 0 none, 1 satellites, 2 with corrections";
        assume(self.fix_numbers, "fix-numbers", file(), message);
    }
}
