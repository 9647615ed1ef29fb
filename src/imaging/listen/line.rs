//! One association, message by message: commands are put together out of their pieces (PS3.7 6.3, annex E), data sets
//! are handed on as they come.

use std::{collections::VecDeque, time::Duration};

use anyhow::{Context, anyhow};
use dicom_core::{DataElement, PrimitiveValue, Tag, VR};
use dicom_dictionary_std::tags;
use dicom_encoding::TransferSyntaxIndex;
use dicom_object::InMemDicomObject;
use dicom_transfer_syntax_registry::{TransferSyntaxRegistry, entries::IMPLICIT_VR_LITTLE_ENDIAN};
use dicom_ul::{
    Pdu,
    association::{Association, AsyncServerAssociation},
    pdu::{PDataValue, PDataValueType, PresentationContextResultReason},
};
use tokio::{io::AsyncWriteExt, net::TcpStream, sync::watch, time::timeout};

use crate::imaging::{equipment::IMPLICIT_LITTLE, object};

/// A command set is a handful of short elements; so is what a query asks for.
const LONGEST: usize = 16 * 1024;
/// There is no data set behind this command (PS3.7 E.1).
pub(super) const NO_DATA: u16 = 0x0101;

/// How an association ends.
#[derive(Debug)]
pub(super) enum Ended {
    Released,
    /// By the other side.
    Aborted,
    /// The program or the listener stops.
    Stopping,
    /// It was cut, or what came cannot be followed.
    Lost(anyhow::Error),
}

impl<E: Into<anyhow::Error>> From<E> for Ended {
    fn from(error: E) -> Self {
        Ended::Lost(error.into())
    }
}

/// What was agreed on for a presentation context.
#[derive(Debug, Clone)]
pub(super) struct Agreed {
    pub id: u8,
    pub class: String,
    pub transfer_syntax: String,
}

/// A request.
#[derive(Debug, Clone)]
pub(super) struct Command {
    pub context: Agreed,
    pub field: u16,
    pub message: u16,
    /// The message that a C-CANCEL means.
    pub answers: u16,
    pub class: String,
    pub instance: String,
    pub has_data: bool,
}

pub(super) struct Line {
    association: AsyncServerAssociation<TcpStream>,
    /// Came in one PDU with what is being looked at.
    pieces: VecDeque<PDataValue>,
    idle: Duration,
    stopping: watch::Receiver<bool>,
}

impl Line {
    pub(super) fn new(
        association: AsyncServerAssociation<TcpStream>,
        idle: Duration,
        stopping: watch::Receiver<bool>,
    ) -> Self {
        Line { association, pieces: VecDeque::new(), idle, stopping }
    }

    /// The title that the caller goes by.
    pub(super) fn calling(&self) -> String {
        self.association.peer_ae_title().trim().to_owned()
    }

    pub(super) async fn abort(self) {
        let idle = self.idle;
        // It may be gone already.
        let _ = timeout(idle, self.association.abort()).await;
    }

    /// The next piece of a message. May be dropped while it waits: what has come stays for the next time.
    pub(super) async fn piece(&mut self) -> Result<PDataValue, Ended> {
        loop {
            if let Some(piece) = self.pieces.pop_front() {
                return Ok(piece);
            }
            match self.association.receive().await? {
                Pdu::PData { data } => self.pieces.extend(data),
                Pdu::ReleaseRQ => {
                    self.association.send(&Pdu::ReleaseRP).await?;
                    return Err(Ended::Released);
                }
                Pdu::AbortRQ { .. } => return Err(Ended::Aborted),
                other => return Err(anyhow!("unexpected: {}", other.short_description()).into()),
            }
        }
    }

    /// The next piece of the data set of a message.
    pub(super) async fn data_piece(&mut self, context: u8) -> Result<PDataValue, Ended> {
        let piece = self.piece().await?;
        if piece.presentation_context_id != context || piece.value_type != PDataValueType::Data {
            return Err(anyhow!("a piece of another message in the middle of one").into());
        }
        Ok(piece)
    }

    /// A short data set as a whole; `None` when it is longer than any that is asked for, and passed over.
    pub(super) async fn short_data(&mut self, context: u8) -> Result<Option<Vec<u8>>, Ended> {
        let mut bytes = Some(Vec::new());
        loop {
            let piece = self.data_piece(context).await?;
            bytes = bytes.filter(|had| had.len() + piece.data.len() <= LONGEST);
            if let Some(bytes) = &mut bytes {
                bytes.extend_from_slice(&piece.data);
            }
            if piece.is_last {
                return Ok(bytes);
            }
        }
    }

    /// The next request. Between requests, the line may be stopped.
    pub(super) async fn command(&mut self) -> Result<Command, Ended> {
        let mut stopping = self.stopping.clone();
        let first = tokio::select! {
            biased;
            _ = stopping.wait_for(|stop| *stop) => return Err(Ended::Stopping),
            first = self.piece() => first?,
        };
        self.command_from(first).await
    }

    /// A request that has come while another one is being answered, if there is one.
    pub(super) async fn command_at_hand(&mut self) -> Result<Option<Command>, Ended> {
        // The sockets are looked at once, so that what has come is seen.
        tokio::task::yield_now().await;
        match timeout(Duration::ZERO, self.piece()).await {
            Ok(first) => Ok(Some(self.command_from(first?).await?)),
            Err(_) => Ok(None),
        }
    }

    async fn command_from(&mut self, first: PDataValue) -> Result<Command, Ended> {
        let id = first.presentation_context_id;
        let (mut piece, mut bytes) = (first, Vec::new());
        loop {
            if piece.value_type != PDataValueType::Command || piece.presentation_context_id != id {
                return Err(anyhow!("a data set without a command").into());
            }
            bytes.extend_from_slice(&piece.data);
            if bytes.len() > LONGEST {
                return Err(anyhow!("a command of {} bytes", bytes.len()).into());
            }
            if piece.is_last {
                break;
            }
            piece = self.piece().await?;
        }
        Ok(self.read_command(id, &bytes)?)
    }

    fn read_command(&self, id: u8, bytes: &[u8]) -> anyhow::Result<Command> {
        let accepted = self.association.presentation_contexts().iter();
        let mut accepted = accepted.filter(|c| c.reason == PresentationContextResultReason::Acceptance);
        let context =
            accepted.find(|context| context.id == id).context("a context that was not agreed on")?;
        let context = Agreed {
            id,
            class: context.abstract_syntax.clone(),
            transfer_syntax: context.transfer_syntax.clone(),
        };
        anyhow::ensure!(object::is_sound(bytes, IMPLICIT_LITTLE), "a command that cannot be read");
        let set = InMemDicomObject::read_dataset_with_ts(bytes, &IMPLICIT_VR_LITTLE_ENDIAN.erased())?;
        let number = |tag: Tag| set.get(tag).and_then(|element| element.to_int::<u16>().ok());
        let text = |tag: Tag| {
            let text = set.get(tag).and_then(|element| element.to_str().ok()).unwrap_or_default();
            text.trim_matches([' ', '\0']).to_owned()
        };
        Ok(Command {
            context,
            field: number(tags::COMMAND_FIELD).context("a command without a name")?,
            message: number(tags::MESSAGE_ID).unwrap_or(0),
            answers: number(tags::MESSAGE_ID_BEING_RESPONDED_TO).unwrap_or(0),
            class: text(tags::AFFECTED_SOP_CLASS_UID),
            instance: text(tags::AFFECTED_SOP_INSTANCE_UID),
            has_data: number(tags::COMMAND_DATA_SET_TYPE).unwrap_or(NO_DATA) != NO_DATA,
        })
    }

    /// Answers a request: its status, why, and with what data set.
    pub(super) async fn answer(
        &mut self,
        to: &Command,
        status: u16,
        comment: &str,
        data: Option<&InMemDicomObject>,
    ) -> Result<(), Ended> {
        let command = answer_set(to, status, comment, data.is_some());
        let mut bytes = Vec::new();
        command.write_dataset_with_ts(&mut bytes, &IMPLICIT_VR_LITTLE_ENDIAN.erased())?;
        let piece = PDataValue {
            presentation_context_id: to.context.id,
            value_type: PDataValueType::Command,
            is_last: true,
            data: bytes,
        };
        self.association.send(&Pdu::PData { data: vec![piece] }).await?;
        let Some(data) = data else { return Ok(()) };
        let syntax = TransferSyntaxRegistry.get(&to.context.transfer_syntax).context("an unknown syntax")?;
        let mut bytes = Vec::new();
        // Texts are UTF-8 in memory; what is not ASCII says so in its character set.
        let utf8 = dicom_encoding::text::SpecificCharacterSet::ISO_IR_192;
        data.write_dataset_with_ts_cs(&mut bytes, syntax, utf8)?;
        let idle = self.idle;
        let mut writer = self.association.send_pdata(to.context.id);
        let sent = async {
            writer.write_all(&bytes).await?;
            writer.finish().await
        };
        Ok(timeout(idle, sent).await??)
    }
}

/// The command set of an answer (PS3.7 9.3).
fn answer_set(to: &Command, status: u16, comment: &str, with_data: bool) -> InMemDicomObject {
    let text = |tag, vr, text: &str| DataElement::new(tag, vr, PrimitiveValue::from(text));
    let number = |tag, n: u16| DataElement::new(tag, VR::US, PrimitiveValue::from(n));
    let mut elements = vec![
        // The answer to a request is its name with the highest bit set.
        number(tags::COMMAND_FIELD, to.field | 0x8000),
        number(tags::MESSAGE_ID_BEING_RESPONDED_TO, to.message),
        number(tags::COMMAND_DATA_SET_TYPE, if with_data { 0x0001 } else { NO_DATA }),
        number(tags::STATUS, status),
    ];
    if !to.class.is_empty() {
        elements.push(text(tags::AFFECTED_SOP_CLASS_UID, VR::UI, &to.class));
    }
    if !to.instance.is_empty() {
        elements.push(text(tags::AFFECTED_SOP_INSTANCE_UID, VR::UI, &to.instance));
    }
    if !comment.is_empty() {
        let comment: String = comment.chars().filter(|c| c.is_ascii() && *c != '\\').take(64).collect();
        elements.push(text(tags::ERROR_COMMENT, VR::LO, &comment));
    }
    InMemDicomObject::command_from_element_iter(elements)
}
