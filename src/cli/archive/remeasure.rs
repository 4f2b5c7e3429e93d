//! `toeline archive remeasure`.

use super::super::args::RemeasureArgs;
use super::super::batch::at_once;
use super::super::progress::Progress;
use super::super::{CliError, Exit, output};
use crate::cohort::{self, Again};

pub(super) fn run(args: &RemeasureArgs) -> Result<Exit, CliError> {
    let progress = Progress::new(false);
    let sum = cohort::remeasure(
        &args.archive,
        at_once(args.jobs),
        |photographs| progress.expect(photographs),
        &|again| tell(&again, &progress),
    )?;
    progress.end();
    output::say(&format!(
        "{} photographs measured again: {} have another record now, which was added; {} of them \
         differ beyond uncertainty\n{}",
        sum.measured,
        sum.revised,
        sum.changed,
        super::head_line(&sum.head)
    ))?;
    Ok(match sum.troubles {
        0 => Exit::Measured,
        _ => Exit::Failed,
    })
}

fn tell(again: &Again<'_>, progress: &Progress) {
    progress.step();
    let name = format!("{} {}", again.coupon, again.photo);
    let text = match (&again.outcome, again.appended) {
        (Err(message), _) => {
            return progress.mutter(&format!("{name}: not measured again: {message}\n"));
        }
        (Ok(_), None) => format!("{name}: the same\n"),
        (Ok(changes), Some(entry)) => {
            let within = match changes.is_empty() {
                true => ", within uncertainty",
                false => "",
            };
            let mut text = format!(
                "{name}: changed since version {}{within}, entry {entry}\n",
                again.before
            );
            for change in changes {
                text.push_str(&format!("  {change}\n"));
            }
            text
        }
    };
    progress.say(&text);
}
