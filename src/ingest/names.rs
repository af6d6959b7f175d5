//! What a column may be called, in four languages, and the units that it may carry.

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Field {
    /// Identifier of the bearing.
    Id,
    /// Team or instrument.
    Team,
    /// Date, where the time stands in a column of its own or is missing.
    Date,
    /// Date and time, UTC or with an offset of its own; or the time alone beside a date.
    Time,
    /// Name of the stand.
    Place,
    /// Latitude.
    Latitude,
    /// Longitude.
    Longitude,
    /// Easting in a grid.
    Easting,
    /// Northing in a grid.
    Northing,
    /// UTM zone of easting and northing.
    Zone,
    /// EPSG code of easting and northing.
    Epsg,
    /// Position in one cell: latitude and longitude, UTM, or a grid square.
    Position,
    /// Horizontal dilution of precision.
    Hdop,
    /// Standard deviation of the position, metres.
    PositionSigma,
    /// A single swing.
    Swing,
    /// The bearing.
    Bearing,
    /// Which north.
    North,
    /// Standard deviation of the bearing, degrees.
    Sigma,
    /// Operator's class.
    Class,
    /// Front level, dBm.
    Front,
    /// Back level, dBm.
    Back,
    /// Antenna height, metres.
    Height,
    /// Frequency, MHz.
    Frequency,
    /// Remarks.
    Remarks,
}

/// Names by which a column is recognised: lower case, without units, `_` and `-` as blanks. German, French and Spanish
/// names also without their marks, as keyboards lack them.
pub const NAMES: [(Field, &[&str]); 24] = [
    (Field::Id, &["id", "nr", "no", "number", "nummer", "numero", "numéro", "número", "num"]),
    (Field::Team, &["team", "observer", "trupp", "équipe", "equipe", "equipo", "instrument"]),
    (Field::Date, &["date", "datum", "fecha"]),
    (
        Field::Time,
        &[
            "time",
            "datetime",
            "date time",
            "zeit",
            "uhrzeit",
            "uhrzeit lokal",
            "datum uhrzeit",
            "heure",
            "hora",
            "fecha hora",
            "local time",
            "time local",
        ],
    ),
    (
        Field::Place,
        &["place", "stand", "name", "location", "ort", "standort", "lieu", "lugar", "station", "site"],
    ),
    (Field::Latitude, &["lat", "latitude", "breite", "geographische breite", "latitud"]),
    (
        Field::Longitude,
        &["lon", "long", "lng", "longitude", "länge", "laenge", "geographische länge", "longitud"],
    ),
    (Field::Easting, &["easting", "east", "e", "x", "rechtswert", "ostwert", "este", "coordonnée x"]),
    (Field::Northing, &["northing", "n", "y", "hochwert", "nordwert", "coordonnée y"]),
    (Field::Zone, &["zone", "utm zone", "huso", "fuseau"]),
    (Field::Epsg, &["epsg", "epsg code", "crs"]),
    (
        Field::Position,
        &[
            "position",
            "pos",
            "posición",
            "posicion",
            "coordinates",
            "coords",
            "koordinaten",
            "coordonnées",
            "coordenadas",
            "lat lon",
            "mgrs",
            "grid reference",
            "grid ref",
            "utm",
        ],
    ),
    (Field::Hdop, &["hdop"]),
    (Field::PositionSigma, &["position sigma", "sigma position", "gps sigma", "position error"]),
    (
        Field::Bearing,
        &[
            "bearing",
            "azimuth",
            "azimut",
            "peilung",
            "relèvement",
            "relevement",
            "gisement",
            "rumbo",
            "marcación",
            "marcacion",
            "demora",
        ],
    ),
    (Field::North, &["north reference", "north", "nord", "norte", "bezug", "nordbezug", "référence du nord"]),
    (Field::Sigma, &["sigma", "bearing sigma", "sigma bearing"]),
    (Field::Class, &["class", "operator class", "bearing class", "klasse", "peilklasse", "classe", "clase"]),
    (Field::Front, &["front", "front level", "level", "pegel", "niveau", "nivel", "avant", "vorn", "frente"]),
    (Field::Back, &["back", "back level", "rückseite", "hinten", "arrière", "arriere", "atrás", "atras"]),
    (Field::Height, &["height", "antenna height", "antennenhöhe", "höhe", "hauteur", "altura"]),
    (Field::Frequency, &["frequency", "freq", "frequenz", "fréquence", "frequence", "frecuencia"]),
    (
        Field::Remarks,
        &[
            "remarks",
            "remark",
            "comment",
            "comments",
            "notes",
            "note",
            "bemerkung",
            "bemerkungen",
            "remarque",
            "remarques",
            "observaciones",
            "notas",
            "kommentar",
            "commentaire",
        ],
    ),
    (Field::Swing, &["swing"]),
];

/// What a unit measures, or what else a header may say about its numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Degrees, and ways of writing them.
    Degrees,
    /// Other angles.
    Turn,
    /// A length.
    Length,
    /// A frequency.
    Frequency,
    /// A level.
    Level,
    /// A name of WGS 84, the only datum that is read as it stands.
    Datum,
    /// Numbers that grow toward the north.
    Northward,
    /// Numbers that grow toward the east.
    Eastward,
    /// Heights above ground.
    Ground,
    /// Universal time.
    Utc,
}

/// What a header may carry as its last words or in brackets, with the factor to degrees, metres, megahertz or decibels.
/// A gon is a four-hundredth of a turn; a mil is taken as a 6,400th, the artillery's, and that is told.
pub const UNITS: [(&str, Kind, f64); 34] = [
    ("deg", Kind::Degrees, 1.0),
    ("°", Kind::Degrees, 1.0),
    ("degrees", Kind::Degrees, 1.0),
    ("dd", Kind::Degrees, 1.0),
    ("dm", Kind::Degrees, 1.0),
    ("dms", Kind::Degrees, 1.0),
    ("gon", Kind::Turn, 0.9),
    ("mil", Kind::Turn, 360.0 / 6400.0),
    ("mils", Kind::Turn, 360.0 / 6400.0),
    ("rad", Kind::Turn, 180.0 / std::f64::consts::PI),
    ("m", Kind::Length, 1.0),
    ("meter", Kind::Length, 1.0),
    ("metre", Kind::Length, 1.0),
    ("meters", Kind::Length, 1.0),
    ("metres", Kind::Length, 1.0),
    ("ft", Kind::Length, 0.3048),
    ("feet", Kind::Length, 0.3048),
    ("km", Kind::Length, 1000.0),
    ("hz", Kind::Frequency, 1e-6),
    ("khz", Kind::Frequency, 1e-3),
    ("mhz", Kind::Frequency, 1.0),
    ("ghz", Kind::Frequency, 1e3),
    ("dbm", Kind::Level, 1.0),
    ("db", Kind::Level, 1.0),
    ("wgs84", Kind::Datum, 1.0),
    ("wgs", Kind::Datum, 1.0),
    ("84", Kind::Datum, 1.0),
    ("n", Kind::Northward, 1.0),
    ("°n", Kind::Northward, 1.0),
    ("e", Kind::Eastward, 1.0),
    ("°e", Kind::Eastward, 1.0),
    ("agl", Kind::Ground, 1.0),
    ("utc", Kind::Utc, 1.0),
    ("gmt", Kind::Utc, 1.0),
];

/// Metres per unit of length.
pub fn length(unit: &str) -> Option<f64> {
    UNITS.iter().find(|(name, kind, _)| *name == unit && *kind == Kind::Length).map(|(.., factor)| *factor)
}

impl Field {
    /// Factor of a unit in a column of this field; `None` where it does not fit. A position of one cell is not scaled.
    pub fn factor(self, unit: &str) -> Option<f64> {
        let (_, kind, factor) = UNITS.iter().find(|(name, ..)| *name == unit)?;
        let fits = self.kinds().contains(kind) && (self != Self::Position || *factor == 1.0);
        fits.then_some(*factor)
    }

    /// Whether its column may name a north: the bearing, and its swings.
    pub const fn is_direction(self) -> bool {
        matches!(self, Self::Bearing | Self::Swing)
    }

    /// The kinds of unit that a column's numbers may have; none where it holds words or plain numbers.
    const fn kinds(self) -> &'static [Kind] {
        match self {
            Self::Latitude => &[Kind::Degrees, Kind::Datum, Kind::Northward],
            Self::Longitude => &[Kind::Degrees, Kind::Datum, Kind::Eastward],
            Self::Position => &[Kind::Degrees, Kind::Datum, Kind::Length],
            Self::Easting => &[Kind::Length, Kind::Eastward],
            Self::Northing => &[Kind::Length, Kind::Northward],
            Self::PositionSigma => &[Kind::Length],
            Self::Height => &[Kind::Length, Kind::Ground],
            Self::Swing | Self::Bearing | Self::Sigma => &[Kind::Degrees, Kind::Turn],
            Self::Front | Self::Back => &[Kind::Level],
            Self::Frequency => &[Kind::Frequency],
            Self::Time => &[Kind::Utc],
            _ => &[],
        }
    }

    /// Whether its numbers mean nothing as long as a word in its header is not understood.
    pub const fn measures(self) -> bool {
        !matches!(self, Self::Time) && !self.kinds().is_empty()
    }
}
