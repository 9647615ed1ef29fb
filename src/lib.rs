pub mod catalogue;
pub mod reasoning;
