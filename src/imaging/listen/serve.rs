//! What is done for a message: C-ECHO, C-STORE, and C-FIND in the modality worklist.

use dicom_dictionary_std::uids;
use dicom_encoding::TransferSyntaxIndex;
use dicom_object::InMemDicomObject;
use dicom_transfer_syntax_registry::TransferSyntaxRegistry;

use super::{
    desk::Desk,
    line::{Command, Ended, Line},
};
use crate::imaging::{
    Source,
    equipment::{DEFLATED, STORED},
    object,
    take::{self, Announced, Bringer, Coming, Pipe, Refused},
    worklist,
};

/// Names of requests (PS3.7 E.1).
const C_STORE: u16 = 0x0001;
const C_FIND: u16 = 0x0020;
const C_ECHO: u16 = 0x0030;
const C_CANCEL: u16 = 0x0FFF;

/// Statuses (PS3.7 annex C, PS3.4 tables B.2-1 and K.4-1).
const SUCCESS: u16 = 0x0000;
const CLASS_NOT_SUPPORTED: u16 = 0x0122;
const UNKNOWN_REQUEST: u16 = 0x0211;
const NO_ROOM: u16 = 0xA700;
const MISMATCH: u16 = 0xA900;
const NOT_UNDERSTOOD: u16 = 0xC000;
const CANCELLED: u16 = 0xFE00;
const PENDING: u16 = 0xFF00;
/// An answer that not every key was matched for.
const PENDING_NOT_ALL_KEYS: u16 = 0xFF01;

/// Answers one request after the other until the association ends.
pub(super) async fn converse(desk: &Desk, line: &mut Line) -> Ended {
    loop {
        let done = match line.command().await {
            Ok(command) => one(desk, line, &command).await,
            Err(ended) => return ended,
        };
        if let Err(ended) = done {
            return ended;
        }
    }
}

async fn one(desk: &Desk, line: &mut Line, command: &Command) -> Result<(), Ended> {
    let class = command.context.class.as_str();
    match command.field {
        C_ECHO if class == uids::VERIFICATION && !command.has_data => {
            line.answer(command, SUCCESS, "", None).await
        }
        C_STORE if STORED.contains(&class) && command.has_data => store(desk, line, command).await,
        C_FIND if class == uids::MODALITY_WORKLIST_INFORMATION_MODEL_FIND && command.has_data => {
            find(desk, line, command).await
        }
        // What it means has been answered to the end.
        C_CANCEL => Ok(()),
        field => {
            if command.has_data {
                while !line.data_piece(command.context.id).await?.is_last {}
            }
            let known = matches!(field, C_ECHO | C_STORE | C_FIND);
            let status = if known { CLASS_NOT_SUPPORTED } else { UNKNOWN_REQUEST };
            line.answer(command, status, "", None).await
        }
    }
}

/// Takes an object in. The answer comes after the file is synced and its row committed, or nothing is kept.
async fn store(desk: &Desk, line: &mut Line, command: &Command) -> Result<(), Ended> {
    let (data, largest) = (desk.app.db.folder().to_owned(), desk.largest);
    let what = Announced {
        class: command.class.clone(),
        instance: command.instance.clone(),
        transfer_syntax: command.context.transfer_syntax.clone(),
    };
    let other_class = command.class != command.context.class;
    let mut pipe = Pipe::open(move || Coming::announced(&data, largest, what), Coming::push);
    let (mut open, mut passed_over) = (true, 0_u64);
    loop {
        let piece = line.data_piece(command.context.id).await?;
        let last = piece.is_last;
        if open {
            open = pipe.push(piece.data).await;
        } else {
            // Equipment hears of a refusal only at the end; but it is not listened to for ever.
            passed_over = passed_over.saturating_add(piece.data.len() as u64);
            if passed_over > largest {
                return Err(anyhow::anyhow!("an object far beyond the limit").into());
            }
        }
        if last {
            break;
        }
    }
    let from = Bringer { source: Source::Network, name: line.calling() };
    let taken = match pipe.end().await {
        Ok(_) if other_class => Err(Refused::OtherObject),
        Ok(coming) => take::keep(&desk.app, coming, &from).await,
        Err(refused) => Err(refused),
    };
    match taken {
        Ok(taken) => {
            tracing::info!(from = from.name, ?taken, "an object came in");
            line.answer(command, SUCCESS, "", None).await
        }
        Err(refused) => {
            let status = match refused {
                Refused::TooLarge(_) | Refused::NoRoom(_) => NO_ROOM,
                Refused::NotUnderstood(_) => NOT_UNDERSTOOD,
                Refused::OtherObject => MISMATCH,
            };
            tracing::warn!(from = from.name, %refused, "an object was refused");
            line.answer(command, status, &refused.to_string(), None).await
        }
    }
}

/// Answers a query of the worklist, one order an answer, until there are no more or nobody wants them.
async fn find(desk: &Desk, line: &mut Line, command: &Command) -> Result<(), Ended> {
    let asked = line.short_data(command.context.id).await?;
    let query = asked.as_deref().and_then(|bytes| read_query(bytes, &command.context.transfer_syntax));
    let Some(query) = query else {
        return line.answer(command, NOT_UNDERSTOOD, "the query cannot be read", None).await;
    };
    let answers = match worklist::answers(&desk.app, &query, &line.calling()).await {
        Ok(answers) => answers,
        Err(error) => {
            tracing::error!(error = format!("{error:#}"), "the worklist cannot be read");
            return line.answer(command, NO_ROOM, "the worklist cannot be read", None).await;
        }
    };
    for answer in &answers {
        match line.command_at_hand().await? {
            Some(other) if other.field == C_CANCEL && other.answers == command.message => {
                return line.answer(command, CANCELLED, "", None).await;
            }
            Some(_) => return Err(anyhow::anyhow!("a request in the middle of another").into()),
            None => {}
        }
        let status = if answer.all_keys { PENDING } else { PENDING_NOT_ALL_KEYS };
        line.answer(command, status, "", Some(&answer.identifier)).await?;
    }
    line.answer(command, SUCCESS, "", None).await
}

fn read_query(bytes: &[u8], transfer_syntax: &str) -> Option<InMemDicomObject> {
    if transfer_syntax == DEFLATED || !object::is_sound(bytes, transfer_syntax) {
        return None;
    }
    let syntax = TransferSyntaxRegistry.get(transfer_syntax)?;
    InMemDicomObject::read_dataset_with_ts(bytes, syntax).ok()
}
