pub mod catalogue;
pub mod reasoning;
pub mod say;
pub mod serve;
