//! Imaging: what came out of the practice's X-ray, ultrasound and scintigraphy machines.

pub mod picture;
