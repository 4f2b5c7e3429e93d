/// Simulated references (rules, chequer strips) seen by a simulated camera.
pub mod references;
