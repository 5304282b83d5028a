package inputlist

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/xuri/excelize/v2"
)

const tooManyRows = "the sheet has more rows than are read; those after row 4000 were left aside"

// refuseOLE tells an encrypted workbook, which is an old container around the
// new format, from a workbook of the old format.
func refuseOLE(r io.ReaderAt, size int64) error {
	data := make([]byte, min(size, 1<<20))
	n, _ := r.ReadAt(data, 0)
	var wide []byte
	for _, c := range "EncryptedPackage" {
		wide = append(wide, byte(c), 0)
	}
	if bytes.Contains(data[:n], wide) {
		return errors.New("the workbook is locked by a password; open it, take the password off and save it again, or save the list as CSV")
	}
	return errors.New("this is an old .xls workbook, which cannot be read; save it as .xlsx or CSV")
}

// readWorkbook reads the first sheet of an XLSX workbook that looks like an
// input list. The library is given limits on what it unpacks, and never a
// place on disk to unpack to.
func readWorkbook(r io.ReaderAt, size int64) (g grid, err error) {
	if size > maxXLSXBytes {
		return grid{}, fmt.Errorf("the workbook holds %d MB, more than any input list (limit %d MB); save the list alone", size>>20, maxXLSXBytes>>20)
	}
	if err := checkZip(r, size); err != nil {
		return grid{}, err
	}
	// The library is not proof against every damaged workbook; what it cannot
	// take is a damaged file to the engineer, not a crash.
	defer func() {
		if p := recover(); p != nil {
			g, err = grid{}, fmt.Errorf("the workbook is damaged (%v); open it in the spreadsheet and save it again, or save it as CSV", p)
		}
	}()
	f, err := excelize.OpenReader(io.NewSectionReader(r, 0, size), excelize.Options{
		UnzipSizeLimit: maxUnzipBytes, UnzipXMLSizeLimit: maxUnzipBytes,
	})
	if err != nil {
		return grid{}, fmt.Errorf("the workbook cannot be opened (%v); open it in the spreadsheet and save it again, or save it as CSV", err)
	}
	defer f.Close()
	return chooseSheet(f)
}

// checkZip refuses archives that are no workbook, or unpack to too much.
func checkZip(r io.ReaderAt, size int64) error {
	z, err := zip.NewReader(r, size)
	if err != nil {
		return fmt.Errorf("the file begins like a workbook but is cut off or damaged (%v); copy it again", err)
	}
	var total uint64
	workbook := false
	for _, f := range z.File {
		if total += f.UncompressedSize64; total > maxUnzipBytes {
			return fmt.Errorf("the workbook unpacks to more than %d MB, more than any input list; save the list alone", maxUnzipBytes>>20)
		}
		name := strings.ToLower(strings.ReplaceAll(f.Name, `\`, "/"))
		if strings.HasSuffix(name, "workbook.xml") {
			workbook = true
		}
		if name == "content.xml" {
			return errors.New("this is an OpenDocument file, which cannot be read; save it as .xlsx or CSV")
		}
	}
	if !workbook {
		return errors.New("a zip archive without a workbook in it; give the input list as .xlsx or CSV")
	}
	return nil
}

// chooseSheet takes the first sheet with a row of headers, else the first with
// two filled rows, else the first that is not empty, and names the others.
func chooseSheet(f *excelize.File) (grid, error) {
	names := f.GetSheetList()
	if len(names) > 100 {
		names = names[:100]
	}
	best, bestRank := grid{}, 0
	var others []string
	for _, name := range names {
		if bestRank == 3 {
			others = append(others, quote(name))
			continue
		}
		g, err := readSheet(f, name)
		if err != nil {
			return grid{}, fmt.Errorf("sheet %q cannot be read (%v); save it again, or save it as CSV", name, err)
		}
		rank, filled := 0, 0
		for _, r := range g.rows {
			if r.filled() > 0 {
				filled++
			}
			if headerScore(r) >= 2 {
				rank = 3
			}
		}
		if rank == 0 && filled > 0 {
			rank = 1 + min(filled/2, 1)
		}
		switch {
		case rank > bestRank:
			if bestRank > 0 {
				others = append(others, quote(best.sheetName))
			}
			best, bestRank = g, rank
		case rank > 0:
			others = append(others, quote(name))
		}
	}
	if bestRank == 0 {
		return grid{}, errEmpty
	}
	if len(others) > 0 {
		best.notes = append(best.notes, fmt.Sprintf("read sheet %q; left aside: %s", best.sheetName, strings.Join(others, ", ")))
	}
	return best, nil
}

func quote(s string) string { return fmt.Sprintf("%q", s) }

// readSheet reads one sheet's cells as the spreadsheet shows them. Hidden rows
// are kept, since a filter left on hides lines that are still on the floor.
func readSheet(f *excelize.File, name string) (grid, error) {
	g := grid{sheetName: name}
	rows, err := f.Rows(name)
	if err != nil {
		return grid{}, err
	}
	defer rows.Close()
	hidden := 0
	for n := 1; rows.Next(); n++ {
		if n > maxRows {
			g.notes = append(g.notes, tooManyRows)
			break
		}
		cells, err := rows.Columns()
		if err != nil {
			return grid{}, err
		}
		r := newRow(n, cells)
		if rows.GetRowOpts().Hidden && r.filled() > 0 {
			hidden++
		}
		g.rows = append(g.rows, r)
	}
	if err := rows.Error(); err != nil {
		return grid{}, err
	}
	if hidden > 0 {
		g.notes = append(g.notes, fmt.Sprintf("%d hidden rows are read too", hidden))
	}
	for len(g.rows) > 0 && len(g.rows[len(g.rows)-1].cells) == 0 {
		g.rows = g.rows[:len(g.rows)-1]
	}
	return g, fillMerged(f, &g)
}

// fillMerged copies a cell that is merged downwards into the rows it covers:
// one microphone for two lines, one source for a pair. Cells merged sideways
// stay where they begin, since a title or a group row over all columns names
// none of them.
func fillMerged(f *excelize.File, g *grid) error {
	merged, err := f.GetMergeCells(g.sheetName, true)
	if err != nil {
		return err
	}
	for _, m := range merged {
		col, top, err := excelize.CellNameToCoordinates(m.GetStartAxis())
		if err != nil {
			continue // a range that names no cell covers none
		}
		_, bottom, err := excelize.CellNameToCoordinates(m.GetEndAxis())
		if err != nil || bottom <= top || top < 1 || top > len(g.rows) || col > maxColumns {
			continue
		}
		bottom = min(bottom, len(g.rows))
		value := g.rows[top-1].cell(col - 1)
		if value == "" {
			continue
		}
		for n := top; n <= bottom; n++ {
			r := &g.rows[n-1]
			for len(r.cells) < col {
				r.cells = append(r.cells, "")
			}
			r.cells[col-1] = value
			if r.merged == nil {
				r.merged = map[int]int{}
			}
			r.merged[col-1] = bottom - top + 1
		}
	}
	return nil
}
