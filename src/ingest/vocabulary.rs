//! What kind of file a header belongs to: the same word means other things beside a bearing than in a log of levels.

use crate::ingest::{
    names::{Field, NAMES},
    sector_names::SECTOR_NAMES,
};

/// The words that a header may use.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Vocabulary {
    /// Notes of bearings.
    Bearings,
    /// Logs of levels.
    Levels,
    /// Tables of sectors.
    Sectors,
    /// Levels against headings of an antenna turned on the spot.
    Swings,
    /// Counters of receivers that stay in their place.
    Counters,
    /// Times at which a suspect was switched.
    Switches,
}

/// Names that only a swing has. Its headings are directions as bearings are.
const SWING_NAMES: [(Field, &[&str]); 3] = [
    (
        Field::Bearing,
        &[
            "heading",
            "antenna heading",
            "antenna direction",
            "antenna azimuth",
            "antenna bearing",
            "direction",
            "pointing",
            "rotation",
            "richtung",
            "antennenrichtung",
            "ausrichtung",
            "cap",
            "orientation",
            "direction antenne",
            "direction d'antenne",
            "orientación",
            "orientacion",
            "dirección",
            "direccion",
            "dirección de antena",
            "direccion de antena",
        ],
    ),
    (Field::Place, &["stand id", "swing", "swing id", "standpunkt", "puesto"]),
    (
        Field::Pattern,
        &[
            "pattern",
            "antenna",
            "antenna pattern",
            "antenna type",
            "antenne",
            "antennentyp",
            "antena",
            "diagramm",
            "diagramme",
            "diagrama",
        ],
    ),
];

/// Names that a log of levels has beside those of place and time.
const LEVEL_NAMES: [(Field, &[&str]); 15] = [
    (Field::Id, &["seq", "sequence", "index", "lfd nr"]),
    (
        Field::Level,
        &[
            "level",
            "corrected",
            "corrected level",
            "level corrected",
            "power",
            "received power",
            "uplink power",
            "signal",
            "signal level",
            "field",
            "field strength",
            "pegel",
            "signalpegel",
            "leistung",
            "empfangspegel",
            "feldstärke",
            "feldstaerke",
            "niveau",
            "puissance",
            "champ",
            "nivel",
            "potencia",
            "intensidad de campo",
        ],
    ),
    (
        Field::Indicated,
        &[
            "indicated",
            "indicated level",
            "reading",
            "rssi",
            "raw",
            "raw level",
            "anzeige",
            "messwert",
            "lecture",
            "lectura",
            "valeur lue",
        ],
    ),
    (Field::Unit, &["unit", "units", "einheit", "unité", "unite", "unidad", "level unit"]),
    (
        Field::Attenuator,
        &[
            "attenuator",
            "attenuation",
            "att",
            "pad",
            "dämpfung",
            "daempfung",
            "dämpfungsglied",
            "atténuateur",
            "attenuateur",
            "atenuador",
            "atenuación",
            "atenuacion",
        ],
    ),
    (
        Field::Bandwidth,
        &[
            "rbw",
            "resolution bandwidth",
            "bandwidth",
            "bandbreite",
            "auflösebandbreite",
            "largeur de bande",
            "ancho de banda",
        ],
    ),
    (
        Field::Floor,
        &[
            "floor",
            "noise floor",
            "noise",
            "rauschen",
            "rauschgrenze",
            "grundrauschen",
            "plancher",
            "bruit",
            "plancher de bruit",
            "ruido",
            "suelo de ruido",
        ],
    ),
    (Field::Fix, &["fix", "fix type", "fix quality", "gps fix", "gps quality"]),
    (
        Field::Satellites,
        &["satellites", "sats", "sat", "satelliten", "satélites", "satelites", "num sats", "n sats"],
    ),
    (
        Field::Device,
        &[
            "device",
            "receiver",
            "sector",
            "meter",
            "gerät",
            "geraet",
            "empfänger",
            "empfaenger",
            "appareil",
            "récepteur",
            "recepteur",
            "aparato",
            "receptor",
        ],
    ),
    (Field::AntennaFactor, &["antenna factor", "antennenfaktor", "facteur d'antenne", "factor de antena"]),
    (Field::Gain, &["gain", "antenna gain", "gewinn", "antennengewinn", "gain d'antenne", "ganancia"]),
    (
        Field::CableLoss,
        &[
            "cable loss",
            "feeder loss",
            "loss",
            "kabeldämpfung",
            "kabeldaempfung",
            "perte de câble",
            "perte cable",
            "pérdida de cable",
            "perdida de cable",
        ],
    ),
    (Field::Hdop, &["hdop"]),
    (Field::Height, &["antenna height m agl"]),
];

/// Names that only a counter has: what other tables call the sector is its receiver.
const COUNTER_NAMES: [(Field, &[&str]); 2] = [
    (
        Field::Level,
        &[
            "mean uplink power",
            "uplink",
            "uplink level",
            "mean level",
            "mean power",
            "average level",
            "average power",
            "total power",
            "received total power",
            "rtwp",
            "interference",
            "interference level",
            "mittelwert",
        ],
    ),
    (
        Field::Device,
        &[
            "sector id",
            "sector name",
            "cell",
            "cell id",
            "site",
            "station",
            "zelle",
            "sektor",
            "secteur",
            "celda",
        ],
    ),
];

/// Names of what was switched, and when.
const SWITCH_NAMES: [(Field, &[&str]); 1] =
    [(Field::State, &["state", "switch", "switched", "status", "zustand", "état", "etat", "estado"])];

/// The plain beginnings of every row.
const fn of_times(field: Field) -> bool {
    matches!(field, Field::Time | Field::Date | Field::Remarks)
}

impl Vocabulary {
    /// Whether its rows hold levels with units of their own.
    pub const fn has_levels(self) -> bool {
        !matches!(self, Self::Bearings | Self::Switches)
    }

    /// The field of a name without units.
    pub fn field(self, plain: &str) -> Option<Field> {
        let find = |table: &[(Field, &[&str])]| {
            table.iter().find(|(_, names)| names.contains(&plain)).map(|(field, _)| *field)
        };
        // What has a direction without being a bearing.
        let directions =
            || find(&NAMES).filter(|f| matches!(f, Field::Bearing | Field::North) || !of_bearings(*f));
        match self {
            Self::Bearings => find(&NAMES),
            Self::Levels => find(&LEVEL_NAMES).or_else(|| find(&NAMES).filter(|f| !of_bearings(*f))),
            // The azimuth of a sector and its north have the names that they have beside a bearing.
            Self::Sectors => find(&SECTOR_NAMES)
                .or_else(|| find(&LEVEL_NAMES).filter(|f| !of_logs(*f)))
                .or_else(directions),
            Self::Swings => find(&SWING_NAMES)
                .or_else(|| find(&LEVEL_NAMES))
                .or_else(|| find(&SECTOR_NAMES).filter(|f| *f == Field::Beamwidth))
                .or_else(directions),
            Self::Counters => find(&COUNTER_NAMES)
                .or_else(|| find(&LEVEL_NAMES).filter(|f| of_counters(*f)))
                .or_else(|| find(&SECTOR_NAMES).filter(|f| matches!(f, Field::Rise | Field::Time)))
                .or_else(|| find(&NAMES).filter(|f| of_times(*f))),
            Self::Switches => find(&SWITCH_NAMES).or_else(|| find(&NAMES).filter(|f| of_times(*f))),
        }
    }
}

/// Fields of a log that a counter has.
const fn of_counters(field: Field) -> bool {
    matches!(field, Field::Level | Field::Indicated | Field::Device)
}

/// Fields of a log that no table of sectors has.
const fn of_logs(field: Field) -> bool {
    matches!(
        field,
        Field::Id
            | Field::Indicated
            | Field::Attenuator
            | Field::Fix
            | Field::Satellites
            | Field::Device
            | Field::AntennaFactor
            | Field::Hdop
    )
}

/// Fields without meaning for a level.
const fn of_bearings(field: Field) -> bool {
    matches!(
        field,
        Field::Bearing
            | Field::Swing
            | Field::North
            | Field::Sigma
            | Field::Class
            | Field::Front
            | Field::Back
    )
}
