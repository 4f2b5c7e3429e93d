//! The one integration binary; a sentence above each module says what belongs in it.

mod suite;
mod support;
