//! `limbledger check`: everything looked over, beside a running server or without. A line a fault.

use anyhow::bail;

use crate::{checkup, checkup::Watch, config::CheckArgs, db, say};

pub async fn run(args: CheckArgs) -> anyhow::Result<()> {
    let mut conn = db::summed_reader(&args.data).await?;
    let watch = Watch::new();
    let shown = super::bar::show(&watch);
    let found = checkup::look(&args.data, &mut conn, &watch).await;
    shown.done();
    let found = found?;
    for fault in &found.faults {
        say::line(fault);
    }
    if !found.faults.is_empty() {
        bail!(
            "the practice in {} is damaged; stop the server and restore the last good backup",
            args.data.display()
        );
    }
    let orphans = match found.orphans {
        0 => String::new(),
        many => format!(" ({many} more belong to nothing, which does no harm)"),
    };
    say::line(format_args!(
        "{}: {} rows, {} entries of the record and {} files are as they were written{orphans}",
        args.data.display(),
        found.rows,
        found.entries,
        found.files
    ));
    Ok(())
}
