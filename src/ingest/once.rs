//! What is told once for a file, however many of its rows it concerns.

use std::collections::BTreeSet;

use csv::StringRecord;

use crate::{
    finding::{Finding, Origin},
    ingest::{columns::Columns, log::Log, row::METRES_PER_HDOP},
};

/// What the rows have given occasion to tell.
#[derive(Debug, Default)]
pub struct Once {
    /// Whether an HDOP was turned into metres.
    pub hdop_used: bool,
    /// Local times without a zone.
    pub local_times: usize,
    /// Bearings that say no north.
    pub unlabelled: usize,
    /// Azimuths of sectors that say no north.
    pub unlabelled_azimuths: usize,
    /// Datum operations.
    pub operations: BTreeSet<String>,
    /// Columns, from 1, that have values but no header.
    unnamed: BTreeSet<usize>,
}

impl Once {
    /// Remembers columns without a header in which a row has something.
    pub fn unnamed(&mut self, columns: &Columns, record: &StringRecord) {
        let filled = |i: &usize| record.get(*i).is_some_and(|c| !c.is_empty());
        self.unnamed.extend(columns.unnamed().filter(filled).map(|i| i + 1));
    }

    /// Tells it; without any north nothing of the file can be used.
    pub fn tell(self, name: &str, any_rows: bool, log: &mut Log) {
        let file = || Origin::file(name);
        let bearings = (self.unlabelled, "bearing(s) do not say which north they were read from");
        let azimuths = (self.unlabelled_azimuths, "azimuth(s) do not say which north they count from");
        for (count, what) in [bearings, azimuths].into_iter().filter(|(count, _)| *count > 0) {
            let message = format!("{count} {what}");
            let hint = "state it once for the file: --north magnetic, --north true or --north grid";
            log.tell(Finding::refused("north-unlabelled", message).at(file()).hint(hint));
        }
        if !self.unnamed.is_empty() {
            let which: Vec<String> = self.unnamed.iter().map(usize::to_string).collect();
            let message = format!("columns without a header are not used: {}", which.join(", "));
            log.tell(Finding::assumed("columns-unnamed", message).at(file()));
        }
        if !any_rows {
            return;
        }
        if self.hdop_used {
            let message = format!(
                "position error: HDOP times {METRES_PER_HDOP:.0} m, one standard deviation (common practice)"
            );
            log.tell(Finding::assumed("position-from-hdop", message).at(file()));
        }
        if self.local_times > 0 {
            let message =
                format!("{} local time(s) without a zone: only their dates are used", self.local_times);
            let hint = "state the zone once, such as --zone America/Los_Angeles";
            log.tell(Finding::assumed("zone-missing", message).at(file()).hint(hint));
        }
        for message in self.operations {
            log.tell(Finding::assumed("grid-operation", message).at(file()));
        }
    }
}
