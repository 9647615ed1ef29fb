//! Writes one frame of a DICOM object as PNG, for the check against another program in `tests/clients`.
//! `cargo run --example picture -- FILE FRAME OUT.png`; what cannot be shown ends with 3 and the reason.

use std::{env, fs, process::ExitCode};

use limbledger::imaging::picture::{View, frame, open};

fn main() -> ExitCode {
    let words: Vec<String> = env::args().skip(1).collect();
    let [file, number, out] = words.as_slice() else {
        eprintln!("picture FILE FRAME OUT.png");
        return ExitCode::from(2);
    };
    let number = number.parse().unwrap_or(0);
    match open(file.as_ref()).and_then(|object| frame(&object, number, View::AsKept)) {
        Ok(raster) => {
            let png = raster.png().expect("a rendered picture can be written");
            fs::write(out, png).expect("OUT can be written");
            ExitCode::SUCCESS
        }
        Err(reason) => {
            eprintln!("{reason}");
            ExitCode::from(3)
        }
    }
}
