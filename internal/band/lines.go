package band

// LineInfo is what the assistant's sheet and the recorder say of a line.
type LineInfo struct {
	Number int
	Source string // as typed
	Mic    string
	Stand  string
	Box    string // wall box
	Pre    string
	Gain   string // the preamp's number
	Power  string // 48 V
	Flip   string
	Notes  string
	Group  string // a group row stands before the line
	File   string // the recorder's name, without take number and extension
}

// studioLines is the list of lines in the order of their numbers.
func studioLines() []LineInfo {
	return []LineInfo{
		lineKickIn:   {1, "Kick in", "Mirrelk Skillet", "short", "A1", "Hobbin 1", "22", "", "", "inside, 15 cm off the beater", "DRUMS", "Kick In"},
		lineKickOut:  {2, "Kick out", "Luthrane Barrel", "short boom", "A2", "Hobbin 2", "24", "yes", "", "at the hole", "", "Kick Out"},
		lineSnareTop: {3, "Snr top", "Mirrelk Trivet", "boom", "A3", "Hobbin 3", "28", "", "", "", "", "Snare Top"},
		lineSnareLow: {4, "Snr bot", "same", "short", "A4", "Hobbin 4", "28", "", "flip", "", "", "Snare Bot"},
		lineHat:      {5, "HH", "Ossendal Thimble", "boom", "A5", "Hobbin 5", "36", "yes", "", "away from the snare", "", "HH"},
		lineRack:     {6, "Rack tom", "Mirrelk Trivet", "clip", "A6", "Hobbin 6", "28", "", "", "", "", "Rack Tom"},
		lineFloor:    {7, "Floor tom", "same", "clip", "A7", "Hobbin 7", "28", "", "", "", "", "Floor Tom"},
		lineOverL:    {8, "OH L", "Luthrane Spool", "tall", "B1", "Corrigale L", "30", "yes", "", "both 1.25 m from snare", "", "OH L"},
		lineOverR:    {9, "OH R", "same", "tall", "B2", "Corrigale R", "30", "yes", "", "", "", "OH R"},
		linePerc:     {10, "Tamb / shaker", "Ossendal Thimble", "boom", "B3", "Hobbin 8", "40", "yes", "", "", "", "Tmb+Shkr"},
		lineRoomL:    {11, "Rooms", "Luthrane Larder", "tall", "B7", "Corrigale 3", "38", "yes", "", "omni, by the door", "", "Rooms"},
		lineRoomR:    {12, "Rooms", "Luthrane Larder", "tall", "B8", "Corrigale 4", "38", "yes", "", "", "", "Rooms"},
		lineBassDI:   {13, "Bass DI", "Bodkin box", "", "C1", "Hobbin 9", "12", "yes", "", "", "RHYTHM", "Bass DI"},
		lineBassAmp:  {14, "Bass amp", "Mirrelk Skillet", "short", "C2", "Hobbin 10", "30", "", "", "closet A", "", "Bass Amp"},
		lineGuitar:   {15, "EG amp", "Mirrelk Trivet", "short", "C3", "Hobbin 11", "26", "", "", "closet B", "", "Gtr"},
		lineAcoustic: {16, "Acoustic gtr", "Ossendal Thimble", "boom", "D1", "Tallowby 1", "44", "yes", "", "booth 3", "", "Ac Gtr"},
		lineSqueeze:  {17, "Accordion", "Farrowick Bellrope", "boom", "D5", "Tallowby 2", "42", "yes", "", "booth 4", "KEYS", "Accordion"},
		linePianoL:   {18, "Pno L", "Ossendal Ladle", "boom", "P1", "Tallowby 3", "42", "yes", "", "parlour, bass end", "", "Piano L"},
		linePianoR:   {19, "Pno R", "same", "boom", "P2", "Tallowby 4", "42", "yes", "", "", "", "Piano R"},
		lineLead:     {20, "Ld vox", "Farrowick Lantern", "boom", "D2", "Corrigale 5", "36", "yes", "", "booth 1, HPF 80", "VOX", "Ld Vox"},
		lineLow:      {21, "BV low", "Farrowick Bellrope", "boom", "D3", "Corrigale 6", "40", "yes", "", "booth 2", "", "BV Low"},
		lineHigh:     {22, "BV high", "same", "boom", "D4", "Corrigale 7", "40", "yes", "", "booth 2", "", "Audio 22"},
		lineTalk:     {23, "TB", "desk", "", "", "", "", "", "", "record it", "", "TB"},
	}
}
