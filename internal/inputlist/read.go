package inputlist

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"

	"tidemark/internal/model"
)

// Limits of what is read. An input list has some hundred rows; these bound
// memory and time on anything else, and are common practice.
const (
	maxTextBytes  = 4 << 20  // a CSV file
	maxXLSXBytes  = 16 << 20 // a workbook as it lies on disk
	maxUnzipBytes = 48 << 20 // a workbook unpacked
	maxRows       = 4000
	maxColumns    = 120
	maxCellRunes  = 400
	maxLines      = 2000
	maxRange      = 64 // lines one row may stand for
	maxProblems   = 200
)

// Options say how to read where the sheet does not.
type Options struct {
	// Columns maps a field ("source", "mic") to a column: a letter or a header.
	// ParseColumns makes it. Fields given here are not looked for.
	Columns map[string]string
}

// Sheet is an input list that was read.
type Sheet struct {
	Lines     []model.Line
	Columns   []Column // every column that has a header or a field, left to right
	Encoding  string   // "UTF-8", "Windows-1252 (a guess)"; empty for a workbook
	Delimiter string   // "comma", "semicolon", "tab", "bar", "none"; empty for a workbook
	SheetName string   // of a workbook
	HeaderRow int      // from 1; 0 where no header row was found
	Notes     []string // what was decided for the whole sheet
	Problems  []Problem
}

// Column is a column of the sheet and what it was read as.
type Column struct {
	Letter  string // "A"
	Header  string // as typed; empty without
	Field   string // "source", "mic"…; empty where it was left aside
	Doubted bool   // read from its contents, not its header
}

// Problem is something in the sheet that a person should look at.
type Problem struct {
	Row    int    // of the sheet, from 1; 0 for the whole sheet
	Column string // letter; empty for the whole row
	Text   string
	Fatal  bool // a row that looks like a line is not in Lines, or not whole
}

// String is "row 7, column B: …".
func (p Problem) String() string {
	switch {
	case p.Row > 0 && p.Column != "":
		return fmt.Sprintf("row %d, column %s: %s", p.Row, p.Column, p.Text)
	case p.Row > 0:
		return fmt.Sprintf("row %d: %s", p.Row, p.Text)
	case p.Column != "":
		return fmt.Sprintf("column %s: %s", p.Column, p.Text)
	}
	return p.Text
}

// Read reads an input list. name is the file's name, for messages; r holds
// size bytes. The format is taken from the bytes, not from the name. It fails
// with a sentence where the file is no list: empty, not a spreadsheet, locked
// by a password, too large, or without anything that names sources. Nothing is
// returned with an error but what the sentence says.
func Read(name string, r io.ReaderAt, size int64, opt Options) (Sheet, error) {
	g, err := readGrid(r, size)
	if err != nil {
		return Sheet{}, fmt.Errorf("%s: %w", path.Base(strings.ReplaceAll(name, `\`, "/")), err)
	}
	s, err := readLines(g, opt)
	if err != nil {
		return Sheet{}, fmt.Errorf("%s: %w", path.Base(strings.ReplaceAll(name, `\`, "/")), err)
	}
	return s, nil
}

// errEmpty is a file without a single filled cell.
var errEmpty = errors.New("the list is empty; save it again from the spreadsheet and check that it has rows")

// readGrid decides by the first bytes what the file is.
func readGrid(r io.ReaderAt, size int64) (grid, error) {
	if size <= 0 {
		return grid{}, errEmpty
	}
	head := make([]byte, min(size, 8192))
	if n, err := r.ReadAt(head, 0); err != nil && !errors.Is(err, io.EOF) {
		return grid{}, fmt.Errorf("cannot read the list: %w", err)
	} else {
		head = head[:n]
	}
	switch kind := kindOf(head); kind {
	case kindZip:
		return readWorkbook(r, size)
	case kindOLE:
		return grid{}, refuseOLE(r, size)
	case kindText:
		if size > maxTextBytes {
			return grid{}, fmt.Errorf("the file holds %d MB of text, more than any input list (limit %d MB); give the list itself", size>>20, maxTextBytes>>20)
		}
		data := make([]byte, size)
		n, err := r.ReadAt(data, 0)
		if err != nil && !errors.Is(err, io.EOF) {
			return grid{}, fmt.Errorf("cannot read the list: %w", err)
		}
		return readText(data[:n])
	default:
		return grid{}, fmt.Errorf("not a spreadsheet but %s; give the input list as .xlsx or CSV", kind)
	}
}

// What a file's first bytes say.
const (
	kindText   = "text"
	kindZip    = "a zip archive"
	kindOLE    = "an old office document"
	kindBinary = "binary data"
)

// kindOf tells the kinds of files that end up in place of a list.
func kindOf(head []byte) string {
	for _, m := range []struct{ magic, kind string }{
		{"PK\x03\x04", kindZip}, {"PK\x05\x06", kindZip},
		{"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", kindOLE},
		{"%PDF", "a PDF document"}, {"RIFF", "a sound file"}, {"RF64", "a sound file"}, {"BW64", "a sound file"},
		{"FORM", "a sound file"}, {"fLaC", "a sound file"}, {"\x89PNG", "a picture"}, {"\xFF\xD8\xFF", "a picture"},
		{"GIF8", "a picture"}, {"{\\rtf", "a text document (RTF)"}, {"<!DOCTYPE", "a web page"}, {"<html", "a web page"},
		{"SQLite format 3", "a database"}, {"\x1F\x8B", "a compressed file"},
	} {
		// Four letters may begin a list too ("FORM;…"), zeros or lengths may not.
		if bytes.HasPrefix(head, []byte(m.magic)) && (m.kind != "a sound file" || bytes.IndexByte(head, 0) >= 0) {
			return m.kind
		}
	}
	if _, ok := utf16Order(head); ok {
		return kindText
	}
	control := 0
	for _, b := range head {
		if b == 0 {
			return kindBinary
		}
		if b < 0x20 && b != '\t' && b != '\n' && b != '\r' && b != '\f' && b != 0x1a {
			control++
		}
	}
	if control*50 > len(head) { // more than 2 %
		return kindBinary
	}
	return kindText
}
