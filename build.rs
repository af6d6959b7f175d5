//! Takes the page of `azimark map` into the program, where `maps/build.sh` has made it.

use std::{env, error::Error, fs, path::Path};

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo::rerun-if-changed=maps/dist");
    let page = fs::read(Path::new("maps/dist/page.html")).unwrap_or_default();
    fs::write(Path::new(&env::var("OUT_DIR")?).join("page.html"), page)?;
    Ok(())
}
