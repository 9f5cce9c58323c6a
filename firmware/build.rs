//! Hands the image its linker scripts; does nothing for the library.

use std::path::PathBuf;
use std::{env, fs};

fn main() {
    println!("cargo:rerun-if-changed=memory.x");
    println!("cargo:rerun-if-changed=build.rs");
    if env::var("CARGO_CFG_TARGET_OS").as_deref() != Ok("none") || env::var_os("CARGO_FEATURE_QEMU").is_none()
    {
        return;
    }
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("cargo names a folder"));
    fs::write(out.join("memory.x"), include_bytes!("memory.x")).expect("the folder can be written to");
    println!("cargo:rustc-link-search={}", out.display());
    for script in ["link.x", "defmt.x"] {
        println!("cargo:rustc-link-arg-bin=qemu=-T{script}");
    }
}
