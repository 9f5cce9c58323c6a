//! The stock, its sections and the physics against models that share no code with them.
//!
//! | module | model | agreement |
//! |---|---|---|
//! | [`boxes`] | a squared timber of whole units, a plain array | exact, after every kerf |

mod boxes;
mod capacity;
mod grid;
mod sections;
