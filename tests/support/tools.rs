//! Programs from outside that read back what people will look at.

use std::process::Command;

/// The program, or nothing where it is not installed. `.ci/run` installs all of them
/// and sets `TOELINE_TOOLS=all`: there a missing one ends the test.
pub fn tool(name: &str) -> Option<Command> {
    let there = Command::new(name).arg("--version").output().is_ok();
    let needed = std::env::var_os("TOELINE_TOOLS").is_some_and(|which| which == "all");
    assert!(there || !needed, "{name} is not installed");
    there.then(|| Command::new(name))
}

/// What a program that is there says to these arguments.
pub fn says(name: &str, arguments: &[&str]) -> Option<String> {
    let output = tool(name)?.args(arguments).output().unwrap();
    assert!(
        output.status.success(),
        "{name} {arguments:?}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    Some(String::from_utf8_lossy(&output.stdout).into_owned())
}
