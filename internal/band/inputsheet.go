package band

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
)

// Names of what does not exist.
const (
	songTitle  = "Ferry to Wendelow"
	bandName   = "The Orlebrake Ferry Band"
	studioName = "Tannick Yard"
	sheetTitle = "ORLEBRAKE FERRY BAND"
)

// writeSheet writes the input list as an assistant types it in a hurry: a title
// block, a blank row, headings of their own, group rows, ditto marks, pairs in
// one row.
func writeSheet(path string, lines []LineInfo) error {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Comma = ';'
	w.UseCRLF = true
	row := func(cells ...string) {
		for len(cells) < 10 {
			cells = append(cells, "")
		}
		_ = w.Write(cells) // a bytes.Buffer takes everything; Flush would tell
	}
	row(sheetTitle, "", "", "basics day 2")
	row(songTitle+" + one more if time", "", "", studioName, "", "Fri 18 Sep")
	row("tuned 440, no click", "", "", "call 10:00")
	row()
	row("Ch", "Source", "Mic / DI", "Stand", "Wall box", "Pre", "Gain", "48V", "Pol", "Remarks")
	for i := 0; i < len(lines); i++ {
		l := lines[i]
		if l.Group != "" {
			if i > 0 {
				row()
			}
			row(l.Group)
		}
		mic, stand := l.Mic, l.Stand
		if mic == "same" {
			mic = `"`
			if stand == lines[i-1].Stand {
				stand = "''"
			}
		}
		number, box, pre, source := strconv.Itoa(l.Number), l.Box, l.Pre, l.Source
		if i+1 < len(lines) && lines[i+1].File == l.File { // two lines in one row
			next := lines[i+1]
			number += "/" + strconv.Itoa(next.Number)
			source += " L/R"
			box += "/" + next.Box[1:]
			pre += "/" + next.Pre[len(next.Pre)-1:]
			i++
		}
		row(number, source, mic, stand, box, pre, l.Gain, l.Power, l.Flip, l.Notes)
	}
	row()
	row("Total " + strconv.Itoa(len(lines)) + " lines")
	w.Flush()
	if err := w.Error(); err != nil {
		return err
	}
	part := filepath.Join(filepath.Dir(path), "."+filepath.Base(path)+".part")
	f, err := os.Create(part)
	if err != nil {
		return fmt.Errorf("the input list: %w", err)
	}
	_, err = f.Write(b.Bytes())
	if err == nil {
		err = f.Sync()
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Rename(part, path)
	}
	if err != nil {
		os.Remove(part)
		return fmt.Errorf("the input list: %w", err)
	}
	return nil
}
