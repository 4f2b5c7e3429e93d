//! How long the stages took. Each stage is a `tracing` span as well.

use std::collections::BTreeMap;
use std::time::Instant;

/// Milliseconds by stage.
#[derive(Clone, Debug, Default)]
pub(super) struct Timings {
    ms: BTreeMap<String, f64>,
}

/// A stretch of time that has begun.
#[derive(Clone, Copy, Debug)]
pub(super) struct Running {
    name: &'static str,
    since: Instant,
}

impl Timings {
    /// Runs one stage.
    pub fn stage<T>(&mut self, name: &'static str, run: impl FnOnce() -> T) -> T {
        let running = self.start(name);
        let result = tracing::info_span!("stage", name).in_scope(run);
        self.note(running);
        result
    }

    /// Begins a stretch that spans several stages.
    pub fn start(&self, name: &'static str) -> Running {
        Running {
            name,
            since: Instant::now(),
        }
    }

    /// Ends it.
    pub fn end(mut self, running: Running) -> Self {
        self.note(running);
        self
    }

    fn note(&mut self, running: Running) {
        let ms = running.since.elapsed().as_secs_f64() * 1e3;
        tracing::debug!(stage = running.name, ms);
        // Hundredths are plenty and keep records short.
        self.ms
            .insert(running.name.to_owned(), (ms * 100.0).round() / 100.0);
    }

    /// Stage → milliseconds.
    pub fn into_ms(self) -> BTreeMap<String, f64> {
        self.ms
    }
}
