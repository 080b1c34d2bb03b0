//! Screens.
