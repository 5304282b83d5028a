package cli

import "testing"

func TestOneFolder(t *testing.T) {
	for _, c := range []struct {
		name string
		args []string
		want string
	}{
		{"one", []string{"Take 3"}, ""},
		{"none", nil, "which folder? give the one that the recorder wrote to"},
		{"a name of nothing, from an empty variable", []string{" "}, "which folder? give the one that the recorder wrote to"},
		{"a name with a blank and no quotes", []string{"Take", "3"}, "2 folders given (Take, 3), expected one; put a name with blanks in quotes"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := ""
			if err := oneFolder(nil, c.args); err != nil {
				got = err.Error()
			}
			if got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
}
