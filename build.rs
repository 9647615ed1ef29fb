//! A new migration must rebuild the binary: `sqlx::migrate!` alone does not notice new files.
fn main() {
    println!("cargo:rerun-if-changed=migrations");
    println!("cargo:rerun-if-changed=static");
}
