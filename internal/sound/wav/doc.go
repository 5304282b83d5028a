// Package wav reads and writes RIFF/WAVE and its 64-bit forms RF64 (EBU Tech
// 3306) and BW64 (ITU-R BS.2088), with the broadcast metadata of EBU Tech 3285
// and channel names from iXML.
//
// A file is a chain of chunks: a four-byte id, a 32-bit size, that many bytes,
// and a pad byte (not counted) after an odd size.
//
//	RIFF size WAVE | fmt … | data … | bext, LIST, iXML … anywhere
//	RF64 -1   WAVE | ds64 (the 64-bit sizes) | fmt … | data -1 …
//
// Recorders crash, run out of card and forget pad bytes. What was recorded must
// still be read, so the length in the data chunk is a claim: where it is zero,
// all ones or past the end of the file, the sound runs to the last whole frame
// of the file and Header.Damage says so. A file whose fmt chunk makes no sense
// is refused with a *sound.FormatError.
//
// Sources: Multimedia Programming Interface and Data Specifications 1.0 (1991)
// for the chunks, WAVE_FORMAT_EXTENSIBLE (2001) for the long fmt chunk.
package wav
