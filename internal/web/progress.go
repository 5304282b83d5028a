package web

import "fmt"

// progress is the page, and the event, of a check that is running.
type progress struct {
	frame   `json:"-"`
	Folder  string         `json:"-"`
	Done    int            `json:"done"`
	Total   int            `json:"total"`
	Line    string         `json:"line"` // the headline
	Failure string         `json:"failure,omitempty"`
	Files   []FileProgress `json:"files"`
}

func newProgress(st state, fr frame) progress {
	p := progress{frame: fr, Folder: st.Folder, Done: st.done(), Total: len(st.Files), Failure: sentence(st.Failure), Files: st.Files}
	switch {
	case p.Failure != "":
		p.Line = "The check could not be done"
	case p.Total == 0:
		p.Line = "Looking through the folder"
	case p.Done == p.Total:
		p.Line = "Every file heard, judging"
	default:
		p.Line = fmt.Sprintf("Listening: %d of %s heard", p.Done, count(p.Total, "file", "files"))
	}
	return p
}

// Percent is the fraction for the eye.
func (f FileProgress) Percent() string { return number(f.Fraction*100, 0) }
