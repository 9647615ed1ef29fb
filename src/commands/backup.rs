//! `limbledger backup`: one copy of the practice, beside a running server or without.

use crate::{
    backup::{self, Line},
    checkup::Watch,
    clock::Clock,
    config::BackupArgs,
    db, say,
};

pub async fn run(args: BackupArgs) -> anyhow::Result<()> {
    // Said in words before anything is written.
    db::summed_reader(&args.data).await?;
    let watch = Watch::new();
    let shown = super::bar::show(&watch);
    let line = backup::copied(&args.data, &args.file, Clock::System.now(), &watch).await?;
    shown.done();
    let Line { bytes, entries, fault, .. } = line;
    anyhow::ensure!(fault.is_empty(), "no copy was made: {fault}");
    say::line(format_args!(
        "{}: {bytes} bytes, the record up to entry {entries}; restored to a scratch folder and found whole",
        args.file.display()
    ));
    if !backup::is_sealed(&args.data) {
        say::aside(
            "The practice has no recovery passphrase, so its keys are not in the copy: make one under Practice, Backups.",
        );
    }
    Ok(())
}
