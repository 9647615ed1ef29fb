//! What the trade knows and what follows from it, checked against lists and libraries that are not ours.

mod catalogue;
<<<<<<< HEAD
mod history;
=======
mod cautions;
>>>>>>> 1ab23be (Test what the moving sections store, refuse and stop, and which cautions follow from what)
mod identity;
mod place;
mod words;
