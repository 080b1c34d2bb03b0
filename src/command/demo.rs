//! `demo`: how the invented take is to be shown.

use clap::Args;

/// What `demo` takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Args)]
pub struct DemoArgs {
    /// Print the report at once and open no screen
    #[arg(long)]
    pub headless: bool,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command::values::tests::parsed;

    #[test]
    fn the_demo_needs_nothing() {
        assert!(!parsed::<DemoArgs>(&[]).headless);
        assert!(parsed::<DemoArgs>(&["--headless"]).headless);
    }
}
