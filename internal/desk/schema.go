package desk

import (
	"fmt"
	"reflect"
	"strings"
)

// Schema describes one object that --json prints.
type Schema struct {
	Name, What string
	of         reflect.Type
}

// Schemas are all of them.
var Schemas = []Schema{
	{CheckSchema, "a folder of tracks checked against its input list", reflect.TypeFor[Check]()},
	{MeasureSchema, "sound files measured by themselves", reflect.TypeFor[Measurement]()},
}

// Describe lists every field with its type, as the program really writes it.
// The unit of a number is the end of its name.
func (s Schema) Describe() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s\n", s.Name, s.What)
	fmt.Fprintln(&b, "number? is a number, or null where the measure does not exist; RMS levels in dBFS are AES17 (a full-scale sine reads 0)")
	describe(&b, s.of, "")
	return b.String()
}

func describe(b *strings.Builder, t reflect.Type, path string) {
	for i := range t.NumField() {
		f := t.Field(i)
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		if name == "-" || name == "" {
			continue
		}
		ft, p := f.Type, path+name
		if ft.Kind() == reflect.Pointer {
			ft = ft.Elem()
		}
		if ft.Kind() == reflect.Slice {
			ft, p = ft.Elem(), p+"[]"
		}
		switch {
		case ft == reflect.TypeFor[number]():
			fmt.Fprintf(b, "%s\tnumber?\n", p)
		case ft.Kind() == reflect.Struct:
			describe(b, ft, p+".")
		case ft.Kind() == reflect.String:
			fmt.Fprintf(b, "%s\ttext\n", p)
		case ft.Kind() == reflect.Bool:
			fmt.Fprintf(b, "%s\ttrue or false\n", p)
		default:
			fmt.Fprintf(b, "%s\tnumber\n", p)
		}
	}
}
