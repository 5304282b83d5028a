package desk_test

import (
	"context"
	"io"
	"strings"
	"testing"

	"tidemark/internal/desk"
	"tidemark/internal/meter"
	"tidemark/internal/sound"
)

// bare is a library without files.
type bare struct{}

func (bare) Folder() string                               { return "Tuesday" }
func (bare) Files() ([]desk.File, error)                  { return nil, nil }
func (bare) Open(string) (sound.Reader, io.Closer, error) { return nil, nil, io.ErrUnexpectedEOF }

func TestNothingToCheckIsNoGoodCheck(t *testing.T) {
	t.Parallel()
	_, err := desk.CheckPass(context.Background(), desk.CheckRequest{Recordings: bare{}})
	if err == nil || !strings.Contains(err.Error(), "Tuesday holds no sound files") {
		t.Errorf("check: error %v, want one that names the folder", err)
	}
	if _, err := desk.MeasureFiles(context.Background(), bare{}, meter.Options{}, 1, nil); err == nil {
		t.Error("measure: no error without files")
	}
}
