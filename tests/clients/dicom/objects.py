"""Objects to send: those that pydicom brings along, and animals built here, since it brings none."""

import datetime
from pathlib import Path

import numpy
import pydicom
from pydicom.dataset import Dataset, FileDataset, FileMetaDataset
from pydicom.uid import ExplicitVRLittleEndian, generate_uid

BUNDLED = Path(pydicom.__file__).parent / "data/test_files"

CLASSES = {
    "CR": "1.2.840.10008.5.1.4.1.1.1",
    "DX": "1.2.840.10008.5.1.4.1.1.1.1",
    "US": "1.2.840.10008.5.1.4.1.1.6.1",
    "NM": "1.2.840.10008.5.1.4.1.1.20",
}


def horse(modality, size=(64, 48), frames=1, **over):
    """A picture of a horse, with what PS3.3 C.7.1.1 asks of an animal."""
    meta = FileMetaDataset()
    meta.MediaStorageSOPClassUID = CLASSES[modality]
    meta.MediaStorageSOPInstanceUID = generate_uid(prefix="2.25.")
    meta.TransferSyntaxUID = ExplicitVRLittleEndian
    data = FileDataset("", {}, file_meta=meta, preamble=b"\0" * 128)
    data.SpecificCharacterSet = "ISO_IR 192"
    data.SOPClassUID, data.SOPInstanceUID = meta.MediaStorageSOPClassUID, meta.MediaStorageSOPInstanceUID
    data.PatientName, data.PatientID, data.PatientBirthDate, data.PatientSex = "Marsh^Søren", "17", "20170430", "M"
    data.PatientSpeciesCodeSequence = [code("35354009", "SCT", "Equus caballus")]
    data.PatientBreedDescription, data.PatientBreedCodeSequence = "Warmblood", []
    data.BreedRegistrationSequence = []
    data.ResponsiblePerson, data.ResponsiblePersonRole, data.ResponsibleOrganization = "Marsh^Anna", "OWNER", ""
    data.PatientSexNeutered = "ALTERED"
    now = datetime.datetime.now()
    data.StudyDate = data.ContentDate = data.AcquisitionDate = now.strftime("%Y%m%d")
    data.StudyTime = data.ContentTime = data.AcquisitionTime = now.strftime("%H%M%S")
    data.AccessionNumber = data.ReferringPhysicianName = data.StudyID = ""
    data.StudyInstanceUID, data.SeriesInstanceUID = generate_uid(), generate_uid()
    data.Modality, data.SeriesNumber, data.InstanceNumber = modality, 1, 1
    data.Manufacturer, data.AnatomicalOrientationType = "", "QUADRUPED"
    data.BodyPartExamined, data.ViewPosition, data.ImageLaterality = "FOREFETLOCK", "LM", "L"
    data.SamplesPerPixel, data.PhotometricInterpretation = 1, "MONOCHROME2"
    data.Rows, data.Columns = size
    data.BitsAllocated, data.BitsStored, data.HighBit, data.PixelRepresentation = 16, 12, 11, 0
    if frames > 1:
        data.NumberOfFrames = frames
    shape = (frames, *size) if frames > 1 else size
    pixels = numpy.random.default_rng(7).integers(0, 4095, shape, dtype=numpy.uint16)
    data.PixelData = pixels.tobytes()
    for name, value in over.items():
        setattr(data, name, value)
    meta.MediaStorageSOPInstanceUID = data.SOPInstanceUID
    return data


def code(value, scheme, meaning):
    item = Dataset()
    item.CodeValue, item.CodingSchemeDesignator, item.CodeMeaning = value, scheme, meaning
    return item


def save(data, folder, name):
    path = Path(folder, name)
    data.save_as(path, enforce_file_format=True)
    return path


def same_data(sent, kept):
    """Whether two files hold the same elements, whatever their heads say."""
    sent, kept = pydicom.dcmread(sent, force=True), pydicom.dcmread(kept)
    wrong = [element.tag for element in sent if element.tag.element != 0 and kept.get(element.tag) != element]
    return not wrong, wrong
