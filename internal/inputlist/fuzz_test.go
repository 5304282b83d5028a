package inputlist

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"tidemark/internal/model"
)

// demand holds what was read to what a sheet promises, whatever was typed.
func demand(t *testing.T, s Sheet, err error) {
	t.Helper()
	if err != nil {
		if !reflect.DeepEqual(s, Sheet{}) {
			t.Fatalf("%+v returned with the error %v", s, err)
		}
		if strings.TrimSpace(err.Error()) == "" {
			t.Fatal("an error that says nothing")
		}
		return
	}
	if len(s.Lines) == 0 || len(s.Lines) > maxLines+maxRange {
		t.Fatalf("%d lines", len(s.Lines))
	}
	if len(s.Columns) > maxColumns || len(s.Problems) > maxProblems {
		t.Fatalf("%d columns, %d problems", len(s.Columns), len(s.Problems))
	}
	for i, l := range s.Lines {
		if l.Source == "" {
			t.Errorf("line %d has no source", i)
		}
		if l.Number < 0 || l.Row < 1 || l.Row > maxRows {
			t.Errorf("line %d has number %d and row %d", i, l.Number, l.Row)
		}
		if l.Partner >= 0 && (l.Partner >= len(s.Lines) || s.Lines[l.Partner].Partner != i || l.Partner == i) {
			t.Errorf("line %d: partner %d does not answer", i, l.Partner)
		}
		if l.Partner >= 0 && (l.Side == model.NoSide || s.Lines[l.Partner].Side == l.Side) {
			t.Errorf("line %d and its partner are %q and %q", i, l.Side, s.Lines[l.Partner].Side)
		}
	}
	for _, p := range s.Problems {
		if p.Text == "" || p.Row < 0 || !utf8.ValidString(p.String()) {
			t.Errorf("problem %q", p)
		}
	}
	if s.Understood() == "" {
		t.Error("nothing understood")
	}
}

// FuzzRead: any bytes at all are a list or a sentence.
func FuzzRead(f *testing.F) {
	r := workbook(f, func(w *excelize.File) { setRows(f, w, "Sheet1", [][]any{{"Ch", "Source"}, {1, "Kick"}, {"2/3", "OH"}}) })
	whole := make([]byte, r.Size())
	if _, err := r.ReadAt(whole, 0); err != nil && !errors.Is(err, io.EOF) {
		f.Fatal(err)
	}
	for _, s := range []string{
		"ch,source,mic\nDRUMS\n1/2,OH L/R,\"\n3-40,Toms\n", "sep=;\nch;source\n1;\"Kick\n", "\xff\xfec\x00h\x00", "Kick\n\" top\n", string(whole),
		"1;Kick in;Halver 20\n2;Kick out;Halver 88\n3/4;OH;Noor pair\n", "Spor\tKilde\n1\tStortromme\n2\tBass DI\n", "Title\n\nCh|Source|+48\n1|Vox|x\n1|Vox|\n5-8|BGV|ja\n",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := Read("x", bytes.NewReader(data), int64(len(data)), Options{})
		demand(t, s, err)
		again, _ := Read("x", bytes.NewReader(data), int64(len(data)), Options{})
		if !reflect.DeepEqual(s, again) {
			t.Errorf("read twice: got %+v, want %+v", again, s)
		}
	})
}

// FuzzColumns: whatever a person says of the columns, and whatever the list
// holds, is followed or refused with a sentence.
func FuzzColumns(f *testing.F) {
	f.Add("source=B,mic=D", "ch,what,x,y\n1,Kick,a,Halver 20\n")
	f.Add("source=What is it,number=A", "Nr;What is it\n1;Vox\n")
	f.Add("notes=A,source=A", "a,b\nc,d\n")
	f.Add("Source = zz", "1,Kick\n")
	f.Fuzz(func(t *testing.T, said, text string) {
		columns, err := ParseColumns(said)
		if err != nil {
			if columns != nil || !strings.HasPrefix(err.Error(), "columns: ") {
				t.Fatalf("%v with the error %v", columns, err)
			}
			return
		}
		var parts []string
		for field, column := range columns {
			if !slices.Contains(Fields, field) || column == "" {
				t.Fatalf("%q=%q is no field and column", field, column)
			}
			parts = append(parts, field+"="+column)
		}
		if again, err := ParseColumns(strings.Join(parts, ",")); err != nil || !reflect.DeepEqual(again, columns) {
			t.Fatalf("written back as %q: %v, %v, want %v", parts, again, err, columns)
		}
		s, err := Read("x", strings.NewReader(text), int64(len(text)), Options{Columns: columns})
		demand(t, s, err)
	})
}

// FuzzSheetXML: behind the checksums of a workbook, which random bytes do not
// pass, any sheet, shared texts and styles are read or refused with a sentence.
func FuzzSheetXML(f *testing.F) {
	sheet := func(rows string) string {
		return `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>` + rows + `</sheetData></worksheet>`
	}
	f.Add(sheet(`<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="inlineStr"><is><t>Source</t></is></c></row><row r="2"><c r="A2"><v>1</v></c><c r="B2" t="s"><v>1</v></c></row>`), `<sst><si><t>Ch</t></si><si><r><t>Ki</t></r><r><t>ck</t></r></si></sst>`, ``)
	f.Add(sheet(`<row r="1048576"><c r="XFD1048576"><v>7</v></c></row>`), ``, ``)
	f.Add(sheet(`<row r="2" hidden="1"><c r="A2" s="1"><v>46054</v></c><c r="B2" t="str"><v>Overheads</v></c></row><row><c t="s"><v>99999</v></c></row>`), `<sst count="4294967295"/>`, `<styleSheet><cellXfs count="2"><xf/><xf numFmtId="14"/></cellXfs></styleSheet>`)
	f.Add(strings.Replace(sheet(`<row r="1"><c r="A1"><v>1</v></c><c r="B1" t="str"><v>OH</v></c></row><row r="2"><c r="A2"><v>2</v></c></row>`), `</worksheet>`, `<mergeCells><mergeCell ref="B1:B2"/><mergeCell ref="A1:XFD1048576"/><mergeCell ref="B2:A0"/></mergeCells></worksheet>`, 1), ``, ``)
	f.Fuzz(func(t *testing.T, sheet, texts, styles string) {
		if len(sheet)+len(texts)+len(styles) > 1<<16 {
			return
		}
		var b bytes.Buffer
		z := zip.NewWriter(&b)
		for _, part := range [][2]string{
			{"[Content_Types].xml", `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"/>`},
			{"_rels/.rels", `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>`},
			{"xl/workbook.xml", `<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="Inputs" sheetId="1" r:id="rId1"/></sheets></workbook>`},
			{"xl/_rels/workbook.xml.rels", `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`},
			{"xl/worksheets/sheet1.xml", sheet}, {"xl/sharedStrings.xml", texts}, {"xl/styles.xml", styles},
		} {
			w, err := z.CreateHeader(&zip.FileHeader{Name: part[0], Method: zip.Store})
			if err != nil {
				t.Fatal(err)
			}
			if _, err := io.WriteString(w, part[1]); err != nil {
				t.Fatal(err)
			}
		}
		if err := z.Close(); err != nil {
			t.Fatal(err)
		}
		s, err := Read("x.xlsx", bytes.NewReader(b.Bytes()), int64(b.Len()), Options{})
		demand(t, s, err)
	})
}

// FuzzCutRows: cells hold no more than the text, and cells that another program
// writes come back as they were.
func FuzzCutRows(f *testing.F) {
	f.Add("a,b\r\n\"c\"\"d\",\"\n", byte(','))
	f.Add("\",\",\"", byte(','))
	f.Fuzz(func(t *testing.T, text string, delimiter byte) {
		if delimiter == '"' || delimiter == '\n' || delimiter == '\r' {
			return
		}
		total := 0
		for _, r := range cutRows(text, delimiter, maxRows) {
			if len(r) > maxColumns {
				t.Errorf("%d cells in a row", len(r))
			}
			for _, c := range r {
				total += len(c)
			}
		}
		if total > len(text) {
			t.Errorf("%d bytes of cells from %d of text", total, len(text))
		}
	})
}

// FuzzCells: cells written as CSV by the standard library are cut back to the
// same cells. Left out are texts that no spreadsheet puts into a cell and that
// cells in general cannot be told from: lone carriage returns, cells longer than
// is searched for a closing quote, and what is read as a ditto mark, since a
// blank, a delimiter or the end of the line follows its opening quote.
func FuzzCells(f *testing.F) {
	f.Add("Kick in", "Halver \"20\"", "a;b,c|d", uint8(0))
	f.Add("two\nlines", "", "\"", uint8(1))
	f.Fuzz(func(t *testing.T, a, b, c string, which uint8) {
		d := delimiters[int(which)%len(delimiters)].char
		for _, cell := range []string{a, b, c} {
			if cell != "" && (cell[0] == d || cell[0] == '\n') || strings.ContainsRune(cell, '\r') || strings.HasPrefix(cell, `" `) || strings.HasPrefix(cell, " ") || len(cell) > maxQuoted/4 || !utf8.ValidString(cell) {
				return
			}
		}
		var out bytes.Buffer
		w := csv.NewWriter(&out)
		w.Comma = rune(d)
		want := [][]string{{a, b, c, "."}, {"x", c, a, "."}}
		if err := w.WriteAll(want); err != nil {
			t.Fatal(err)
		}
		if got := cutRows(out.String(), d, maxRows); !reflect.DeepEqual(got, want) {
			t.Errorf("%q: got %q, want %q", out.String(), got, want)
		}
	})
}

// FuzzNumber: a number cell names lines in rising order, as many as a row may
// stand for, and what it names, written again, names the same.
func FuzzNumber(f *testing.F) {
	for _, s := range []string{"7", "CH 07.", "1/2", "5-8", "1L/1R", "2026-02-01", "1 Feb", "12, 13", "№ 4", "9999", "0", "1/2/3", "8/7"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, cell string) {
		n := parseNumber(cell)
		if n.ok != (len(n.list) > 0) || len(n.list) > maxRange {
			t.Fatalf("%+v", n)
		}
		for i, k := range n.list {
			if k < 1 && len(n.list) > 1 || k < 0 || i > 0 && k < n.list[i-1] || i > 1 && k == n.list[i-1] {
				t.Fatalf("%v does not rise", n.list)
			}
		}
		if !n.ok {
			return
		}
		var each []string
		for _, k := range n.list {
			each = append(each, fmt.Sprint(k))
		}
		text := strings.Join(each, ", ") // with strokes, three may be a date
		switch first, last := n.list[0], n.list[len(n.list)-1]; {
		case len(n.list) == 2 && last == first: // two sides of one number
			text = fmt.Sprintf("%dL/%dR", last, last)
		case len(n.list) > 2 && last-first == len(n.list)-1:
			text = fmt.Sprintf("%d-%d", first, last)
		}
		if again := parseNumber(text); !slices.Equal(again.list, n.list) {
			t.Errorf("%q: got %v as %q, want %v", cell, again.list, text, n.list)
		}
	})
}

// FuzzSplitRow: a row stands for as many lines as it has numbers, or two, each
// with a source, and halves of one thing are left and right.
func FuzzSplitRow(f *testing.F) {
	for _, s := range []string{"Overheads", "OH L/R", "Kick in/out", "Tom 1/2", "T1/T2", "Acc / Pno", "BGV", "L/R", "stereo", "Gtr 1-2 lr", "Tom 999/1000"} {
		f.Add(s, uint8(2), true)
	}
	f.Fuzz(func(t *testing.T, source string, count uint8, free bool) {
		source = clean(source)
		if source == "" {
			return
		}
		var nums []int
		for i := range int(count) % maxRange {
			nums = append(nums, 7+i)
		}
		halves := splitRow(source, nums, func(int) bool { return free })
		if want := max(len(nums), 1); len(halves) != want && len(halves) != 2 {
			t.Fatalf("%d lines from %d numbers", len(halves), len(nums))
		}
		for i, h := range halves {
			if strings.TrimSpace(h.source) == "" {
				t.Errorf("line %d of %q has no source", i, source)
			}
			if len(h.source) > len(source)+8 {
				t.Errorf("%q grew to %q", source, h.source)
			}
			if value := halfOf(source, i, len(halves)); len(value) > len(source)+8 {
				t.Errorf("%q grew to %q", source, value)
			}
		}
	})
}
