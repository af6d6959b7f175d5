//! An OGC GeoPackage 1.3 ([`GEOPACKAGE`](crate::sources::GEOPACKAGE)): a table for each layer, what its columns mean, how it was made
//! (Metadata extension), and how it is drawn.
//!
//! It is made in memory and handed out as bytes. The same answer gives the same bytes: every time in it is that of the latest
//! observation, never the clock's.

use std::fmt;

use rusqlite::{Connection, MAIN_DB, params, params_from_iter, types::Value as Sql};
use serde_json::Value;

use crate::export::layers::{
    Layers,
    kinds::{Holds, LAYERS, Layer, in_words},
    symbols::symbols,
    wkb::{NOTHING, blob, joined, type_name},
    xml::plain,
};

/// SQLite could not make the file.
#[derive(Debug)]
pub struct GeoPackageFailed(rusqlite::Error);

impl fmt::Display for GeoPackageFailed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the GeoPackage could not be made: {}", self.0)
    }
}

impl std::error::Error for GeoPackageFailed {}

impl From<rusqlite::Error> for GeoPackageFailed {
    fn from(error: rusqlite::Error) -> Self {
        Self(error)
    }
}

/// `GPKG`, and version 1.3 (requirement 2); then the tables that every GeoPackage has, and those of the extensions Metadata and Schema,
/// as the standard's annex C defines them.
const TABLES: &str = "
PRAGMA application_id = 0x47504B47;
PRAGMA user_version = 10300;
CREATE TABLE gpkg_spatial_ref_sys (srs_name TEXT NOT NULL, srs_id INTEGER PRIMARY KEY, organization TEXT NOT NULL,
 organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
CREATE TABLE gpkg_contents (table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE,
 description TEXT DEFAULT '', last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
 min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER,
 CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE gpkg_geometry_columns (table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL,
 srs_id INTEGER NOT NULL, z TINYINT NOT NULL, m TINYINT NOT NULL,
 CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name), CONSTRAINT uk_gc_table_name UNIQUE (table_name),
 CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
 CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id));
CREATE TABLE gpkg_extensions (table_name TEXT, column_name TEXT, extension_name TEXT NOT NULL, definition TEXT NOT NULL,
 scope TEXT NOT NULL, CONSTRAINT ge_tce UNIQUE (table_name, column_name, extension_name));
CREATE TABLE gpkg_metadata (id INTEGER CONSTRAINT m_pk PRIMARY KEY ASC NOT NULL, md_scope TEXT NOT NULL DEFAULT 'dataset',
 md_standard_uri TEXT NOT NULL, mime_type TEXT NOT NULL DEFAULT 'text/xml', metadata TEXT NOT NULL DEFAULT '');
CREATE TABLE gpkg_metadata_reference (reference_scope TEXT NOT NULL, table_name TEXT, column_name TEXT, row_id_value INTEGER,
 timestamp DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')), md_file_id INTEGER NOT NULL, md_parent_id INTEGER,
 CONSTRAINT crmr_mfi_fk FOREIGN KEY (md_file_id) REFERENCES gpkg_metadata(id),
 CONSTRAINT crmr_mpi_fk FOREIGN KEY (md_parent_id) REFERENCES gpkg_metadata(id));
CREATE TABLE gpkg_data_columns (table_name TEXT NOT NULL, column_name TEXT NOT NULL, name TEXT, title TEXT, description TEXT,
 mime_type TEXT, constraint_name TEXT, CONSTRAINT pk_gdc PRIMARY KEY (table_name, column_name),
 CONSTRAINT gdc_tn UNIQUE (table_name, name));
CREATE TABLE gpkg_data_column_constraints (constraint_name TEXT NOT NULL, constraint_type TEXT NOT NULL, value TEXT, min NUMERIC,
 min_is_inclusive BOOLEAN, max NUMERIC, max_is_inclusive BOOLEAN, description TEXT,
 CONSTRAINT gdcc_ntv UNIQUE (constraint_name, constraint_type, value));
INSERT INTO gpkg_spatial_ref_sys VALUES
 ('Undefined Cartesian SRS', -1, 'NONE', -1, 'undefined', 'undefined Cartesian coordinate reference system'),
 ('Undefined geographic SRS', 0, 'NONE', 0, 'undefined', 'undefined geographic coordinate reference system'),
 ('WGS 84 geodetic', 4326, 'EPSG', 4326, 'GEOGCS[\"WGS 84\",DATUM[\"WGS_1984\",SPHEROID[\"WGS 84\",6378137,298.257223563,\
AUTHORITY[\"EPSG\",\"7030\"]],AUTHORITY[\"EPSG\",\"6326\"]],PRIMEM[\"Greenwich\",0,AUTHORITY[\"EPSG\",\"8901\"]],UNIT[\"degree\",\
0.0174532925199433,AUTHORITY[\"EPSG\",\"9122\"]],AUTHORITY[\"EPSG\",\"4326\"]]', 'longitude/latitude coordinates in decimal degrees on the WGS 84 spheroid');
INSERT INTO gpkg_extensions VALUES
 ('gpkg_metadata', NULL, 'gpkg_metadata', 'http://www.geopackage.org/spec131/#extension_metadata', 'read-write'),
 ('gpkg_metadata_reference', NULL, 'gpkg_metadata', 'http://www.geopackage.org/spec131/#extension_metadata', 'read-write'),
 ('gpkg_data_columns', NULL, 'gpkg_schema', 'http://www.geopackage.org/spec131/#extension_schema', 'read-write'),
 ('gpkg_data_column_constraints', NULL, 'gpkg_schema', 'http://www.geopackage.org/spec131/#extension_schema', 'read-write');
CREATE TABLE symbols (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, layer TEXT NOT NULL, symbology_encoding TEXT NOT NULL);
";

/// Standard that the metadata follow: Dublin Core's terms, as JSON.
const METADATA: &str = "http://purl.org/dc/terms/";

/// The file.
///
/// # Errors
/// Where SQLite has no memory left.
pub fn gpkg(layers: &Layers) -> Result<Vec<u8>, GeoPackageFailed> {
    let db = Connection::open_in_memory()?;
    db.execute_batch(TABLES)?;
    let latest = layers.about.latest.as_str();
    for (layer, features) in LAYERS.iter().zip(&layers.features).filter(|(_, features)| !features.is_empty())
    {
        table(&db, layer)?;
        rows(&db, layer, features, latest)?;
        let se = symbols(layer, column);
        db.execute(
            "INSERT INTO symbols (layer, symbology_encoding) VALUES (?1, ?2)",
            params![layer.name, se],
        )?;
    }
    db.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change) \
         VALUES ('symbols', 'attributes', 'Symbols', 'how each layer is drawn: OGC Symbology Encoding 1.1.0', ?1)",
        [latest],
    )?;
    metadata(&db, layers, latest)?;
    Ok(db.serialize(MAIN_DB)?.to_vec())
}

/// A name as the standard recommends it: small letters, digits and `_`.
fn column(name: &str) -> String {
    name.replace('-', "_")
}

fn table(db: &Connection, layer: &Layer) -> Result<(), GeoPackageFailed> {
    let mut sql = format!(
        "CREATE TABLE \"{}\" (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom {}",
        layer.name,
        type_name(layer.shape)
    );
    for c in layer.columns {
        let holds = match c.1 {
            Holds::Text => "TEXT",
            Holds::Real => "REAL",
            Holds::Whole => "INTEGER",
            Holds::Flag => "BOOLEAN",
        };
        sql += &format!(", \"{}\" {holds}", column(c.0));
    }
    db.execute(&(sql + ")"), [])?;
    let mut about = db.prepare(
        "INSERT INTO gpkg_data_columns (table_name, column_name, name, description) VALUES (?1, ?2, ?2, ?3)",
    )?;
    for c in layer.columns {
        about.execute(params![layer.name, column(c.0), c.2])?;
    }
    Ok(())
}

fn rows(
    db: &Connection,
    layer: &Layer,
    features: &[geojson::Feature],
    latest: &str,
) -> Result<(), GeoPackageFailed> {
    let names: Vec<String> = layer.columns.iter().map(|c| format!("\"{}\"", column(c.0))).collect();
    let marks: Vec<String> = (2..=layer.columns.len() + 1).map(|i| format!("?{i}")).collect();
    let sql = format!(
        "INSERT INTO \"{}\" (geom, {}) VALUES (?1, {})",
        layer.name,
        names.join(", "),
        marks.join(", ")
    );
    let mut bounds = NOTHING;
    let mut insert = db.prepare(&sql)?;
    for feature in features {
        let drawn = feature.geometry.as_ref().and_then(|g| blob(&g.value, layer.shape));
        let geometry = drawn.map_or(Sql::Null, |(bytes, envelope)| {
            bounds = joined(bounds, envelope);
            Sql::Blob(bytes)
        });
        let cells = layer.columns.iter().map(|c| cell(c.1, layer.value(feature, c)));
        insert.execute(params_from_iter(std::iter::once(geometry).chain(cells)))?;
    }
    let bound = |v: f64| v.is_finite().then_some(v);
    db.execute(
        "INSERT INTO gpkg_contents VALUES (?1, 'features', ?2, ?3, ?4, ?5, ?6, ?7, ?8, 4326)",
        params![
            layer.name,
            layer.title,
            layer.about,
            latest,
            bound(bounds[0]),
            bound(bounds[2]),
            bound(bounds[1]),
            bound(bounds[3])
        ],
    )?;
    db.execute(
        "INSERT INTO gpkg_geometry_columns VALUES (?1, 'geom', ?2, 4326, 0, 0)",
        params![layer.name, type_name(layer.shape)],
    )?;
    Ok(())
}

fn cell(holds: Holds, value: Option<&Value>) -> Sql {
    match (holds, value) {
        (_, None) => Sql::Null,
        (Holds::Text, value) => Sql::Text(plain(&in_words(value))),
        (Holds::Flag, Some(value)) => value.as_bool().map_or(Sql::Null, |b| Sql::Integer(b.into())),
        (Holds::Whole, Some(value)) => value.as_i64().map_or(Sql::Null, Sql::Integer),
        (Holds::Real, Some(value)) => value.as_f64().map_or(Sql::Null, Sql::Real),
    }
}

/// How it was made, for the whole file.
fn metadata(db: &Connection, layers: &Layers, latest: &str) -> Result<(), GeoPackageFailed> {
    let facts: serde_json::Map<String, Value> =
        layers.about.facts.iter().map(|(name, text)| ((*name).to_owned(), plain(text).into())).collect();
    let body = serde_json::json!({
        "title": "azimark: where an emitter is to be searched",
        "description": plain(&layers.about.summary),
        "provenance": facts,
    });
    db.execute(
        "INSERT INTO gpkg_metadata VALUES (1, 'dataset', ?1, 'application/json', ?2)",
        params![METADATA, format!("{body:#}")],
    )?;
    db.execute(
        "INSERT INTO gpkg_metadata_reference VALUES ('geopackage', NULL, NULL, NULL, ?1, 1, NULL)",
        [latest],
    )?;
    Ok(())
}
