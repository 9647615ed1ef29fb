//! Pictures out of DICOM objects. The objects are made here byte by byte, so that the pixels to expect can be worked
//! out by hand from the standard; `tests/clients/pictures` holds real files against another program.
#![expect(clippy::unwrap_used, unreachable_pub, reason = "a test fails by panicking")]

mod colour;
mod facts;
mod grey;
mod made;
mod packed;
mod refused;
mod robust;
mod window;
