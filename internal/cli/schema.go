package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"tidemark/internal/desk"
)

func schemaCommand(e Edges) *cobra.Command {
	return &cobra.Command{
		Use:   "schema [NAME]",
		Short: "describe the objects that --json prints",
		Example: `  tidemark schema
  tidemark schema check`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				for _, s := range desk.Schemas {
					fmt.Fprintf(e.Stdout, "%s\t%s\n", s.Name, s.What)
				}
				return nil
			}
			var names []string
			for _, s := range desk.Schemas {
				if s.Name == args[0] || strings.TrimSuffix(strings.TrimPrefix(s.Name, "tidemark."), "/1") == args[0] {
					_, err := fmt.Fprint(e.Stdout, s.Describe())
					return err
				}
				names = append(names, s.Name)
			}
			return fmt.Errorf("no object is called %q; there are %s", args[0], strings.Join(names, " and "))
		},
	}
}
