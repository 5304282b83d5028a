package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os/exec"
	"runtime"
	"runtime/debug"
	"strings"
	"sync/atomic"
	"time"

	"tidemark/internal/cli"
	"tidemark/internal/desk"
	"tidemark/internal/web"
)

// serve shows the page at once, checks beside it and waits for the end of ctx.
func serve(ctx context.Context, s cli.Serving) error {
	files, err := s.Request.Recordings.Files()
	if err != nil {
		return err
	}
	listener, err := net.Listen("tcp", fmt.Sprintf("127.0.0.1:%d", s.Port))
	if err != nil {
		return fmt.Errorf("port %d on this machine is taken or not allowed (%w); leave --port out for any free one", s.Port, err)
	}
	board := web.NewBoard(s.Request.Recordings.Folder())
	index := map[string]int{}
	var names []string
	for i, f := range files {
		index[f.Name] = i
		names = append(names, f.Name)
	}
	board.Begin(names)

	var result atomic.Pointer[desk.Check]
	server := &http.Server{
		Handler: web.Handler(board, web.Options{Now: time.Now, Listen: func(_ context.Context, p web.Passage, w io.Writer) error {
			c := result.Load()
			if c == nil {
				return errors.New("the check is still running")
			}
			return c.Excerpt(s.Request.Recordings, p.Pass, p.Line, p.StartS, p.DurationS, w)
		}}),
		ReadHeaderTimeout: 10 * time.Second,
	}
	served := make(chan error, 1)
	go func() { served <- server.Serve(listener) }()

	address := "http://" + listener.Addr().String() + "/"
	s.Say(address)
	if s.Open {
		openBrowser(address)
	}

	checkCtx, stop := context.WithCancel(ctx)
	checked := make(chan struct{})
	var failed error // read after checked
	go func() {
		defer close(checked)
		req := s.Request
		req.Progress = func(p desk.Progress) {
			if i, ok := index[p.File]; ok {
				board.Progress(i, p.Done)
			}
		}
		c, err := desk.CheckPass(checkCtx, req)
		if err != nil {
			if !errors.Is(err, context.Canceled) {
				failed = err
				board.Fail(err.Error())
				fmt.Fprintln(s.Out, "the check could not be done; the page says why; press Ctrl-C to end")
			}
			return
		}
		result.Store(&c)
		var object bytes.Buffer
		enc := json.NewEncoder(&object)
		enc.SetEscapeHTML(false)
		if err := enc.Encode(c); err != nil {
			failed = err
			board.Fail(err.Error())
			return
		}
		board.Finish(web.FromCheck(c, time.Now(), version()), object.Bytes())
		fmt.Fprintln(s.Out, c.Verdict())
	}()

	select {
	case err = <-served:
	case <-ctx.Done():
	}
	stop()
	<-checked
	board.Close()
	quick, cancel := context.WithTimeout(context.Background(), 2*time.Second)
	defer cancel()
	if server.Shutdown(quick) != nil {
		server.Close()
	}
	if err == nil || errors.Is(err, http.ErrServerClosed) {
		err = failed
	}
	return err
}

// openBrowser shows the page in the person's browser. It does not matter when
// there is none: the address has been printed.
func openBrowser(address string) {
	var cmd *exec.Cmd
	switch runtime.GOOS {
	case "darwin":
		cmd = exec.Command("open", address)
	case "windows":
		cmd = exec.Command("rundll32", "url.dll,FileProtocolHandler", address)
	default:
		cmd = exec.Command("xdg-open", address)
	}
	if cmd.Start() == nil {
		go cmd.Wait()
	}
}

// version is what the binary was built from.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "development"
	}
	v := strings.Trim(info.Main.Version, "()")
	if v == "" || v == "devel" {
		v = "development"
	}
	return v
}
