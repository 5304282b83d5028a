package inputlist

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/xuri/excelize/v2"

	"tidemark/internal/model"
)

func readString(t *testing.T, text string, opt Options) Sheet {
	t.Helper()
	s, err := Read("list.csv", strings.NewReader(text), int64(len(text)), opt)
	if err != nil {
		t.Fatalf("reading: %v", err)
	}
	return s
}

// names are the lines as findings call them.
func names(s Sheet) []string {
	var out []string
	for _, l := range s.Lines {
		out = append(out, l.Name())
	}
	return out
}

// The sheets are invented; their habits are common practice, no source.
func TestReadSheetsAsTheyAreTyped(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       []string
	}{
		{"a plain list", "Ch,Source,Mic\n1,Kick in,RB-47\n2,Kick out,D9\n", []string{"1 Kick in", "2 Kick out"}},
		{"title, date and blank rows above",
			"The Harbour Lights;;;\nMonday 14.10.;;;\n;;;\nNr.;Instrument;Mike;48V\n1;Kik;RB-47;\n2;SN T;Q2;x\n", []string{"1 Kik", "2 SN T"}},
		{"columns in another order, tabs", "Mic type\tNotes\tWhat\t#\nRB-47\t\tKick\t01\nQ2\tlouder\tSnare\t02\n", []string{"1 Kick", "2 Snare"}},
		{"a total with its number in front", "CH,SOURCE,MIC\n1,Kick,RB-47\n2,Snare,Q2\n2,lines total,\n", []string{"1 Kick", "2 Snare"}},
		{"group rows and a total", "CH,SOURCE,MIC\nDRUMS,,\n1,Kick,RB-47\n2,Snare,Q2\n,VOCALS,\n3,Ld vox,C1\nTotal: 3,,\n", []string{"1 Kick", "2 Snare", "3 Ld vox"}},
		{"pairs by number", "ch,source\n1/2,Overheads\n3-4,Room\n5 & 6,pno\n7+8,Acc\n", []string{
			"1 Overheads L", "2 Overheads R", "3 Room L", "4 Room R", "5 pno L", "6 pno R", "7 Acc L", "8 Acc R"}},
		{"pairs by name", "ch,source\n1,OH L/R\n3,Room (L+R)\n5,Kick in/out\n7,SN top / bot\n9,Bass DI/amp\n11,Piano LR\n", []string{
			"1 OH L", "2 OH R", "3 Room L", "4 Room R", "5 Kick in", "6 Kick out", "7 SN top", "8 SN bot", "9 Bass DI", "10 Bass amp", "11 Piano L", "12 Piano R"}},
		{"a pair with one number between its neighbours", "ch,source\n1,OH L/R\n2,Kick\n", []string{"1 OH L", "1 OH R", "2 Kick"}},
		{"two sources in one row are no pair", "ch,source\n1/2,Acc / Pno\n3/4,T1/T2\n5/6,Tom 3/4\n", []string{
			"1 Acc", "2 Pno", "3 T1", "4 T2", "5 Tom 3", "6 Tom 4"}},
		{"a longer range", "ch,source\n5-8,BGV\n", []string{"5 BGV 1", "6 BGV 2", "7 BGV 3", "8 BGV 4"}},
		{"an overhead row with a number left free", "ch,source\n1,Kick\n2,Overheads\n4,Bass DI\n", []string{
			"1 Kick", "2 Overheads L", "3 Overheads R", "4 Bass DI"}},
		{"dates that a spreadsheet made of pairs", "ch,source\n1-Feb,Overheads\n4-Mar,Room\n05.06.,Pno\n7/8/26,Acc\n", []string{
			"1 Overheads L", "2 Overheads R", "3 Room L", "4 Room R", "Pno", "7 Acc L", "8 Acc R"}},
		{"numbers in many forms", "input,instrument\n01,Kick\n2.,Snare\n#3,Hat\nCH 4,T1\n5.0,FT\nIn 6,Ride\n", []string{
			"1 Kick", "2 Snare", "3 Hat", "4 T1", "5 FT", "6 Ride"}},
		{"headers again on the second page", "ch,source,mic\n1,Kick,A1\nch,source,mic\n2,Snare,A2\n", []string{"1 Kick", "2 Snare"}},
		{"no numbers at all", "source,mic\nKick,A1\nSnare,A2\n", []string{"1 Kick", "2 Snare"}},
		{"one number missing", "ch,source,mic\n1,Kick,A1\n,Snare,A2\n3,Hat,A3\n", []string{"1 Kick", "Snare", "3 Hat"}},
		{"a template with rows left empty", "ch,source,mic,48V\n1,Kick,A1,\n2,,,-\n3,,,\n", []string{"1 Kick"}},
		{"something plugged in without a name", "ch,source,mic\n1,Kick,A1\n2,,A2\n", []string{"1 Kick", "2 (no source)"}},
		{"a remark and a talkback below the list", "ch,source,mic\n1,Kick,A1\n,Talkback,\nEngineer: the usual,,\n", []string{"1 Kick", "Talkback"}},
		{"two rows of headers", "Ch,,Mic,\n,Source,type,stand\n1,Kick,A1,short\n2,Snare,A2,tall boom\n", []string{"1 Kick", "2 Snare"}},
		{"no headers", "1,Kick in,A1\n2,Kick out,A2\n3,Snare,A3\n", []string{"1 Kick in", "2 Kick out", "3 Snare"}},
		{"headers in another language", "Kanal;Quelle;Mikrofon\n1;Kick in;A1\n2;Snare;A3\n", []string{"1 Kick in", "2 Snare"}},
		{"nothing but sources", "Kick\nSnare\nBass DI\n", []string{"1 Kick", "2 Snare", "3 Bass DI"}},
		{"a sep line", "sep=|\nch|source\n1|Kick\n", []string{"1 Kick"}},
		{"old line ends", "ch,source\r1,Kick\r2,Snare\r", []string{"1 Kick", "2 Snare"}},
		{"quoted cells with delimiters, quotes and line breaks", "ch,source,notes\r\n1,\"Kick, in\",\"say \"\"hi\"\"\nloud\"\r\n2,Tom 12\",x\r\n", []string{"1 Kick, in", `2 Tom 12"`}},
		{"only names in the recorder", "ch,track name\n1,Kick\n2,Snare\n", []string{"1 Kick", "2 Snare"}},
		{"a ditto typed by hand in a text file", "ch;source;mic\n3;SN T;Q2\n4;\" bot;\"\n5;Hat;\"\n", []string{"3 SN T", "4 SN bot", "5 Hat"}},
		{"number and tie line both called line", "line,source,tie line\n1,Kick,12\n2,Snare,13\n", []string{"1 Kick", "2 Snare"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := readString(t, c.text, Options{})
			if got := names(s); !slices.Equal(got, c.want) {
				t.Errorf("got  %q\nwant %q\n%s", got, c.want, s.Understood())
			}
		})
	}
}

func TestDittoMarksRepeatTheCellAbove(t *testing.T) {
	text := "ch,source,mic,stand,preamp\n1,Snare top,Q2,short,Left rack\n2,\"\"\" bot\",\",'',\"\n3,Tom 1,T9,clip,ditto\n4,\"\"\" 2\",\"\"\"\",″,”\n"
	s := readString(t, text, Options{})
	if got, want := names(s), []string{"1 Snare top", "2 Snare bot", "3 Tom 1", "4 Tom 2"}; !slices.Equal(got, want) {
		t.Fatalf("got %q, want %q", got, want)
	}
	for i, want := range []string{"Q2/short/Left rack", "Q2/short/Left rack", "T9/clip/Left rack", "T9/clip/Left rack"} {
		l := s.Lines[i]
		if got := l.Mic + "/" + l.Stand + "/" + l.Preamp; got != want {
			t.Errorf("%s: got %q, want %q", l.Name(), got, want)
		}
	}
}

func TestEveryFieldIsReadFromItsColumn(t *testing.T) {
	text := "Input;Source;Mic/DI;Stand;Stage box;Mic pre;Gain;+48;-10;-20;Lo cut;Comp;EQ;Desk;Tape return;A/D;File name;Booth;Player;Remarks;Colour\n" +
		"7/8;Overheads;RB-47;tall;A 7/8;P 7/8;30;✓;x;;80;x;;17/18;1/2;7/8;OH L/R;Iso 2;Mara;new skins;red\n"
	s := readString(t, text, Options{})
	if len(s.Lines) != 2 {
		t.Fatalf("got %d lines, want 2: %s", len(s.Lines), s.Understood())
	}
	want := model.Line{
		Number: 8, Source: "Overheads R", Typed: "Overheads", Mic: "RB-47", Stand: "tall", TieLine: "A 8", Preamp: "P 8", Gain: "30",
		Phantom: "yes", Pad: "-10", Filter: "80", Insert: "Comp", Desk: "18", Return: "2", Converter: "8", Track: "OH R", Space: "Iso 2",
		Performer: "Mara", Notes: "new skins", Family: model.Overhead, Stem: "overhead", Side: model.Right, Partner: 0, Row: 2,
	}
	if got := s.Lines[1]; got != want {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
	if s.Lines[0].Partner != 1 || s.Lines[0].Side != model.Left {
		t.Errorf("first half: got partner %d side %q, want 1 and left", s.Lines[0].Partner, s.Lines[0].Side)
	}
	if !strings.Contains(s.Understood(), `left aside: U "Colour"`) {
		t.Errorf("the unknown column is not told:\n%s", s.Understood())
	}
}

func TestPhantomInTheFormsItIsTicked(t *testing.T) {
	for cell, want := range map[string]string{
		"x": "yes", "X": "yes", "yes": "yes", "y": "yes", "1": "yes", "on": "yes", "✓": "yes", "•": "yes", "48": "yes", "48V": "yes", "TRUE": "yes",
		"": "", "-": "", "no": "", "0": "", "off": "", "FALSE": "", "ask": "ask",
	} {
		s := readString(t, "ch,source,phantom\n1,Kick,"+cell+"\n2,Snare,\n", Options{})
		if got := s.Lines[0].Phantom; got != want {
			t.Errorf("%q: got %q, want %q", cell, got, want)
		}
	}
}

func TestProblemsNameRowAndColumn(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"one number twice", "ch,source\n1,Kick\n1,Snare\n", `row 3, column A: number 1 is "Snare" here and "Kick" in row 2`},
		{"a microphone that is a number", "ch,source,mic\n1,Kick,12\n2,Snare,Q2\n", `row 2, column C: the microphone "12" looks like a number`},
		{"an unknown column", "ch,source,shoe size\n1,Kick,42\n", `row 1, column C: "shoe size" is no column that is known here; left aside`},
		{"a doubled column", "ch,source,instrument\n1,Kick,drum\n", `row 1, column C: "instrument" could be the source too, which is read from column B; left aside (to choose it: --columns source=C)`},
		{"a line without a source", "ch,source,mic\n1,Kick,A1\n2,,A2\n", `row 3, column B: number 2 has no source`},
		{"a number that is none", "ch,source\n1,Kick\nA7,Snare\n", `row 3, column A: "Snare" has the number "A7", which is not a plain number or pair; read without one`},
		{"a line without a number", "ch,source,mic\n1,Kick,A1\n,Snare,A2\n", `row 3, column A: "Snare" has no number`},
		{"neither number nor source", "ch,source,mic,stand\n1,Kick,A1,low\n,,A2,tall\n", `row 3: neither a number nor a source; left aside`},
		{"a date for a pair", "ch,source\n7-Aug,OH\n", `row 2, column A: the spreadsheet made the date "7-Aug" of it; read as the pair 7/8`},
		{"no header", "1,Kick\n2,Snare\n", `column B: no header says so, but 2 of 2 cells name sources: read as the source; if that is wrong say --columns source=…`},
		{"a ditto with nothing above", "ch,source,mic\n1,Kick,''\n", `row 2, column C: a ditto mark with nothing above it`},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := readString(t, c.text, Options{})
			var got []string
			for _, p := range s.Problems {
				got = append(got, p.String())
			}
			if !slices.Contains(got, c.want) {
				t.Errorf("got %q, want among them %q", got, c.want)
			}
		})
	}
}

func TestGroupsAreKept(t *testing.T) {
	s := readString(t, "ch,source,mic\nDRUMS,,\n1,Kick,A\n,Vocals,\n2,Vox,B\n", Options{})
	if s.Lines[0].Group != "DRUMS" || s.Lines[1].Group != "Vocals" {
		t.Errorf("got groups %q and %q, want \"DRUMS\" and \"Vocals\"", s.Lines[0].Group, s.Lines[1].Group)
	}
}

func TestColumnsThatThePersonNames(t *testing.T) {
	cols, err := ParseColumns("source=C, mic=Mikro")
	if err != nil {
		t.Fatal(err)
	}
	s := readString(t, "Nr;Mikro;Woher\n1;Q2;Kick\n2;Q3;Snare\n", Options{Columns: cols})
	if got, want := names(s), []string{"1 Kick", "2 Snare"}; !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	if s.Lines[1].Mic != "Q3" {
		t.Errorf("got microphone %q, want \"Q3\"", s.Lines[1].Mic)
	}
}

func TestErrorsAreSentences(t *testing.T) {
	for _, c := range []struct {
		name string
		do   func() error
		want string
	}{
		{"an empty file", readErr("", ""), "list.csv: the list is empty; save it again from the spreadsheet and check that it has rows"},
		{"nothing but delimiters", readErr(";;;\n;;\n", ""), "list.csv: the list is empty; save it again from the spreadsheet and check that it has rows"},
		{"a sound file", readErr("RIFF\x00\x10\x00\x00WAVE", ""), "list.csv: not a spreadsheet but a sound file; give the input list as .xlsx or CSV"},
		{"binary data", readErr("abc\x00\x01\x02\x03\x00", ""), "list.csv: not a spreadsheet but binary data; give the input list as .xlsx or CSV"},
		{"headers without a source", readErr("Ch,Mic,Stand\n1,A1,low\n", ""), `list.csv: no column of sources found; the headers in row 1 are "Ch", "Mic", "Stand"; say which one holds the sources, for example --columns source=B`},
		{"no headers and no source", readErr("7,8\n9,10\n", ""), `list.csv: no column of sources found and no row of headers; the first filled row (1) reads "7", "8"; say which column holds the sources, for example --columns source=B`},
		{"headers and nothing below", readErr("Ch,Source\n", ""), "list.csv: no lines below the headers in row 1; is column B the one with the sources (--columns source=…)"},
		{"a column that is not there", readErr("Ch,Source\n1,Kick\n", "source=F"), `list.csv: columns: source=F: the list has no such column; the columns are A to B, with the headers "Ch", "Source"`},
		{"one column for two fields", readErr("Ch,Source\n1,Kick\n", "source=B,mic=B"), "list.csv: columns: column B is given to two fields; give it to one"},
		{"an old workbook", readErr("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1rest", ""), "list.csv: this is an old .xls workbook, which cannot be read; save it as .xlsx or CSV"},
		{"a locked workbook", readErr("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1E\x00n\x00c\x00r\x00y\x00p\x00t\x00e\x00d\x00P\x00a\x00c\x00k\x00a\x00g\x00e\x00", ""),
			"list.csv: the workbook is locked by a password; open it, take the password off and save it again, or save the list as CSV"},
		{"an unknown field", columnsErr("sauce=B"), "columns: there is no field \"sauce\"; the fields are " + strings.Join(Fields, ", ")},
		{"no equals sign", columnsErr("source"), `columns: "source" is not field=column; write for example source=B,mic=D`},
		{"a field twice", columnsErr("mic=B,microphone=C"), "columns: mic is given twice; give it one column"},
	} {
		t.Run(c.name, func(t *testing.T) {
			err := c.do()
			if err == nil || err.Error() != c.want {
				t.Errorf("got %v, want %s", err, c.want)
			}
		})
	}
}

func readErr(text, columns string) func() error {
	return func() error {
		cols, err := ParseColumns(columns)
		if err != nil {
			return err
		}
		_, err = Read("band/list.csv", strings.NewReader(text), int64(len(text)), Options{Columns: cols})
		return err
	}
}

func columnsErr(text string) func() error {
	return func() error { _, err := ParseColumns(text); return err }
}

func TestHugeFilesAreRefused(t *testing.T) {
	for _, c := range []struct{ name, head, want string }{
		{"text", "ch,source\n", "more than any input list"},
		{"a workbook", "PK\x03\x04", "more than any input list"},
	} {
		r := &endless{head: c.head}
		if _, err := Read("x", r, 1<<40, Options{}); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %q", c.name, err, c.want)
		}
		if r.read > 1<<20 {
			t.Errorf("%s: read %d bytes before refusing", c.name, r.read)
		}
	}
}

// endless is a file of spaces after its head that counts what is read.
type endless struct {
	head string
	read int
}

func (e *endless) ReadAt(p []byte, off int64) (int, error) {
	e.read += len(p)
	for i := range p {
		p[i] = ' '
		if at := off + int64(i); at < int64(len(e.head)) {
			p[i] = e.head[at]
		}
	}
	return len(p), nil
}

func TestEncodings(t *testing.T) {
	const text = "ch;source\r\n1;Accordéon\r\n2;Kick\r\n"
	utf16Of := func(order binary.ByteOrder, bom bool) string {
		units := utf16.Encode([]rune(text))
		if bom {
			units = append([]uint16{0xFEFF}, units...)
		}
		b := make([]byte, 2*len(units))
		for i, u := range units {
			order.PutUint16(b[2*i:], u)
		}
		return string(b)
	}
	for _, c := range []struct{ name, bytes, want string }{
		{"UTF-8", text, "UTF-8"},
		{"UTF-8 with a mark", "\xEF\xBB\xBF" + text, "UTF-8"},
		{"UTF-16 LE with a mark", utf16Of(binary.LittleEndian, true), "UTF-16 LE"},
		{"UTF-16 BE with a mark", utf16Of(binary.BigEndian, true), "UTF-16 BE"},
		{"UTF-16 LE without", utf16Of(binary.LittleEndian, false), "UTF-16 LE (a guess)"},
		{"UTF-16 BE without", utf16Of(binary.BigEndian, false), "UTF-16 BE (a guess)"},
		{"Windows-1252", strings.ReplaceAll(text, "é", "\xE9"), "Windows-1252 (a guess)"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := readString(t, c.bytes, Options{})
			if s.Encoding != c.want || s.Delimiter != "semicolon" {
				t.Errorf("got %q and %q, want %q and semicolon", s.Encoding, s.Delimiter, c.want)
			}
			if got, want := names(s), []string{"1 Accordéon", "2 Kick"}; !slices.Equal(got, want) {
				t.Errorf("got %q, want %q", got, want)
			}
		})
	}
}

// workbook builds an XLSX file; a cell is given as "A1=text" or a number.
func workbook(t testing.TB, build func(f *excelize.File)) *bytes.Reader {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	build(f)
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	return bytes.NewReader(b.Bytes())
}

func setRows(t testing.TB, f *excelize.File, sheet string, rows [][]any) {
	t.Helper()
	for i, r := range rows {
		if err := f.SetSheetRow(sheet, fmt.Sprintf("A%d", i+1), &r); err != nil {
			t.Fatal(err)
		}
	}
}

func TestWorkbook(t *testing.T) {
	r := workbook(t, func(f *excelize.File) {
		setRows(t, f, "Sheet1", [][]any{{"Contacts"}, {"the house technician", "by the door"}})
		f.NewSheet("Inputs")
		setRows(t, f, "Inputs", [][]any{
			{"The Harbour Lights"}, {},
			{"Ch", "Instrument", "Mic", "48V"},
			{"DRUMS"},
			{1, "Kick in", "RB-47", false},
			{2.0, "Snare", "Q2", true},
			{3, "Overheads", "C9", "x"},
			{4, nil, nil, "x"},
			{5, "Bass DI"},
		})
		must(t, f.MergeCell("Inputs", "A1", "D1"))
		must(t, f.MergeCell("Inputs", "A4", "D4"))
		must(t, f.MergeCell("Inputs", "B7", "B8"))
		must(t, f.MergeCell("Inputs", "C7", "C8"))
		must(t, f.SetRowVisible("Inputs", 6, false))
		f.NewSheet("Last week")
		setRows(t, f, "Last week", [][]any{{"Ch", "Instrument"}, {1, "Tuba"}})
	})
	s, err := Read("list.xlsx", r, r.Size(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"1 Kick in", "2 Snare", "3 Overheads L", "4 Overheads R", "5 Bass DI"}
	if got := names(s); !slices.Equal(got, want) {
		t.Fatalf("got %q, want %q\n%s", got, want, s.Understood())
	}
	if l := s.Lines[3]; l.Mic != "C9" || l.Partner != 2 || l.Side != model.Right || l.Group != "DRUMS" || l.Phantom != "yes" || l.Row != 8 {
		t.Errorf("second half of the merged row: got %+v", l)
	}
	if s.Lines[0].Phantom != "" || s.Lines[1].Phantom != "yes" {
		t.Errorf("got phantom %q and %q, want none and yes", s.Lines[0].Phantom, s.Lines[1].Phantom)
	}
	u := s.Understood()
	for _, part := range []string{`of sheet "Inputs"`, `left aside: "Sheet1", "Last week"`, "1 hidden rows are read too", "headers in row 3"} {
		if !strings.Contains(u, part) {
			t.Errorf("not told: %s\n%s", part, u)
		}
	}
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func TestWorkbookLockedByAPassword(t *testing.T) {
	f := excelize.NewFile()
	defer f.Close()
	var b bytes.Buffer
	if err := f.Write(&b, excelize.Options{Password: "harbour"}); err != nil {
		t.Fatal(err)
	}
	_, err := Read("list.xlsx", bytes.NewReader(b.Bytes()), int64(b.Len()), Options{})
	if err == nil || !strings.Contains(err.Error(), "locked by a password") {
		t.Errorf("got %v, want a word about the password", err)
	}
}

func TestDamagedWorkbooksAreSentences(t *testing.T) {
	r := workbook(t, func(f *excelize.File) { setRows(t, f, "Sheet1", [][]any{{"Ch", "Source"}, {1, "Kick"}}) })
	whole := make([]byte, r.Size())
	if _, err := r.ReadAt(whole, 0); err != nil && !errors.Is(err, io.EOF) {
		t.Fatal(err)
	}
	for n := 4; n < len(whole); n += 97 {
		if _, err := Read("cut.xlsx", bytes.NewReader(whole[:n]), int64(n), Options{}); err == nil || !strings.Contains(err.Error(), "damaged") {
			t.Errorf("cut after %d bytes: got %v, want \"damaged\"", n, err)
		}
	}
}

func TestAColumnThatIsHalfEmptyAndCellsFarOutDoNotGrowTheSheet(t *testing.T) {
	var b strings.Builder
	b.WriteString("ch,source" + strings.Repeat(",", 5000) + "far\n")
	for i := 1; i <= 6000; i++ {
		fmt.Fprintf(&b, "%d,Vox %d\n", i, i)
	}
	s := readString(t, b.String(), Options{})
	if len(s.Lines) > maxLines || len(s.Columns) > maxColumns {
		t.Errorf("got %d lines and %d columns, want at most %d and %d", len(s.Lines), len(s.Columns), maxLines, maxColumns)
	}
	if !slices.ContainsFunc(s.Problems, func(p Problem) bool { return p.Fatal }) {
		t.Error("lines were left aside and no problem says so")
	}
}

func TestWorkbookThatMadeDatesOfPairs(t *testing.T) {
	r := workbook(t, func(f *excelize.File) {
		setRows(t, f, "Sheet1", [][]any{{"Ch", "Source"}, {46054.0, "Overheads"}, {46085.0, "Room"}}) // 1 Feb and 4 Mar 2026
		for cell, format := range map[string]int{"A2": 14, "A3": 16} {
			style, err := f.NewStyle(&excelize.Style{NumFmt: format})
			must(t, err)
			must(t, f.SetCellStyle("Sheet1", cell, cell, style))
		}
	})
	s, err := Read("list.xlsx", r, r.Size(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := names(s), []string{"1 Overheads L", "2 Overheads R", "3 Room L", "4 Room R"}; !slices.Equal(got, want) {
		t.Errorf("got %q, want %q\n%s", got, want, s.Understood())
	}
}
