//! What a column may be called, in four languages.

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
    /// Whether whoever keeps the notes leaves the row out.
    LeftOut,
    /// Level at the antenna's connector.
    Level,
    /// Level as the receiver shows it.
    Indicated,
    /// Unit of the level.
    Unit,
    /// Attenuator in front of the receiver, decibels.
    Attenuator,
    /// Resolution bandwidth, megahertz.
    Bandwidth,
    /// Floor of the receiver.
    Floor,
    /// Kind of fix.
    Fix,
    /// Satellites used.
    Satellites,
    /// Receiver.
    Device,
    /// Antenna factor, decibels per metre.
    AntennaFactor,
    /// Gain of the antenna, dBi.
    Gain,
    /// Loss of the cable, decibels.
    CableLoss,
    /// Width of a sector's beam.
    Beamwidth,
    /// By how much a level lies above the receiver's floor, decibels.
    Rise,
    /// A level without the receiver's own noise.
    Interference,
    /// How levels were averaged.
    Averaging,
    /// Kind of an antenna's pattern.
    Pattern,
    /// On or off.
    State,
}

/// Names by which a column is recognised: lower case, without units, `_` and `-` as blanks. German, French and Spanish
/// names also without their marks, as keyboards lack them.
pub const NAMES: [(Field, &[&str]); 25] = [
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
            "plus code",
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
    (Field::LeftOut, &["left out", "excluded", "ausgelassen", "exclu", "excluido"]),
];
