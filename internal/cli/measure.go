package cli

import (
	"bufio"
	"fmt"
	"io"
	"path"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"tidemark/internal/desk"
	"tidemark/internal/meter"
)

func measureCommand(e Edges) *cobra.Command {
	var asJSON bool
	var mains, peak string
	c := &cobra.Command{
		Use:     "measure [--json] FILE...",
		Short:   "measure sound files by themselves, without a list",
		Example: `  tidemark measure mix.wav print.flac`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return fmt.Errorf("which files? give one or more sound files")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			opt := meter.Options{}
			var err error
			if opt.Mains, err = meter.ParseMains(mains); err != nil {
				return fmt.Errorf("--mains: %w", err)
			}
			if opt.Interpolator, err = meter.ParseInterpolator(peak); err != nil {
				return fmt.Errorf("--true-peak: %w", err)
			}
			lib, err := e.Files(args)
			if err != nil {
				return err
			}
			bar := newBar(e, "reading")
			result, err := desk.MeasureFiles(cmd.Context(), lib, opt, 0, bar.check)
			bar.done()
			if err != nil {
				return err
			}
			if asJSON {
				err = writeJSON(e.Stdout, result)
			} else {
				err = printMeasure(e.Stdout, result)
			}
			if n := len(result.Refused); err == nil && n > 0 {
				return fmt.Errorf("%d of %d files could not be read, the first: %s", n, n+len(result.Files), result.Refused[0].Reason)
			}
			return err
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print one object, tidemark.measure/1")
	c.Flags().StringVar(&mains, "mains", "auto", "which hum to look for, in `HZ`: 50, 60 or auto")
	c.Flags().StringVar(&peak, "true-peak", "sinc", "`INTERPOLATOR` of the true peak: sinc (49 taps) or table (ITU-R BS.1770-5 Annex 2)")
	return c
}

func printMeasure(out io.Writer, m desk.Measurement) error {
	w := bufio.NewWriter(out)
	for i, f := range m.Files {
		if i > 0 {
			fmt.Fprintln(w)
		}
		fmt.Fprintf(w, "%s\n", f.File)
		fmt.Fprintf(w, "  %s, %g kHz, %d bit %s (%d used), %s, %.3f s\n", f.Format.Container, float64(f.Format.RateHz)/1000,
			f.Format.Bits, f.Format.Encoding, f.Format.BitsUsed, count(f.Format.Channels, "channel"), f.Format.DurationS)
		for _, d := range f.Damage {
			fmt.Fprintf(w, "  note: %s\n", d)
		}
		n := f.Levels
		fmt.Fprintf(w, "  sample peak %s dBFS   true peak %s dBTP   RMS %s dBFS   crest %s dB   headroom %s dB\n",
			two(n.PeakDBFS), two(n.TruePeakDBTP), two(n.RMSDBFS), two(n.CrestDB), two(n.HeadroomDB))
		fmt.Fprintf(w, "  integrated %s LUFS   range %s LU   highest momentary %s   highest short-term %s LUFS\n",
			two(n.LoudnessLUFS), two(n.LoudnessRangeLU), two(n.MaxMomentaryLUFS), two(n.MaxShortTermLUFS))
		if f.LoudnessAs != "" {
			fmt.Fprintf(w, "  loudness of the channels as %s (ITU-R BS.1770-5)\n", f.LoudnessAs)
		}
		fmt.Fprintf(w, "  floor %s dBFS   usual %s to %s dBFS   DC %s\n", one(n.FloorDBFS), one(n.UsualLowDBFS), one(n.UsualHighDBFS), places(n.DC, 6))
		if hz, ok := n.HumHz.Get(); ok {
			fmt.Fprintf(w, "  hum at %.2f Hz, %s dBFS\n", hz, one(n.HumDBFS))
		}
		if n.ClippedFrames > 0 {
			fmt.Fprintf(w, "  clipped: %s at full scale\n", count(int(n.ClippedFrames), "sample"))
		}
		if n.DigitalSilenceS >= 0.005 {
			fmt.Fprintf(w, "  digital silence: %.2f s in all\n", n.DigitalSilenceS)
		}
	}
	if len(m.Files) > 0 {
		fmt.Fprintf(w, "\ntrue peak by a %s\n", m.TruePeakBy)
	}
	for _, r := range m.Refused {
		fmt.Fprintf(w, "\n%s\n  not read: %s\n", r.File, strings.TrimPrefix(r.Reason, path.Base(filepath.ToSlash(r.File))+": "))
	}
	return w.Flush()
}

// count is a number of things: "1 channel", "2 channels".
func count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
