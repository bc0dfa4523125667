package report

import (
	"cmp"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"sync"
)

// Flat rows are filled from the structs that are written as JSON: a column holds the field whose json name it has. A
// field of a struct within the struct has both names with _ between, as repair_mean; the tag flat names another column.

// columnsOf returns the columns of those names, split by spaces. A * follows those whose values come from people.
func columnsOf(names string) []Field {
	var out []Field
	for name := range strings.FieldsSeq(names) {
		plain, text := strings.CutSuffix(name, "*")
		out = append(out, Field{plain, text})
	}
	return out
}

// places has where a struct holds what belongs in a column: by its type, then by the column, the indices of the fields.
var places sync.Map

func placesOf(t reflect.Type) map[string][]int {
	if known, ok := places.Load(t); ok {
		return known.(map[string][]int)
	}
	out := map[string][]int{}
	addPlaces(out, t, "", nil)
	places.Store(t, out)
	return out
}

func addPlaces(out map[string][]int, t reflect.Type, prefix string, path []int) {
	for i := range t.NumField() {
		f := t.Field(i)
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		here, inner := append(slices.Clone(path), i), f.Type
		if inner.Kind() == reflect.Pointer {
			inner = inner.Elem()
		}
		switch {
		case inner.Kind() == reflect.Struct && f.Anonymous:
			addPlaces(out, inner, prefix, here)
		case inner.Kind() == reflect.Struct:
			addPlaces(out, inner, prefix+name+"_", here)
		default:
			out[cmp.Or(f.Tag.Get("flat"), prefix+name)] = here
		}
	}
}

// cellAt returns the value at a place of a struct; the zero Value where a pointer on the way is nil, or for no place.
func cellAt(v reflect.Value, path []int) reflect.Value {
	if path == nil {
		return reflect.Value{}
	}
	for _, i := range path {
		if v = v.Field(i); v.Kind() == reflect.Pointer {
			v = v.Elem() // the zero Value of nil
			if !v.IsValid() {
				break
			}
		}
	}
	return v
}

// flatValue returns the value as Records hold it. A list of things has to print itself.
func flatValue(v reflect.Value) any {
	switch v.Kind() {
	case reflect.Invalid:
		return nil
	case reflect.String:
		return v.String()
	case reflect.Float64:
		return v.Float()
	case reflect.Int:
		return int(v.Int())
	}
	return v.Interface().(fmt.Stringer).String()
}

// Add adds a row. A column has the value that cells has for it, else that of the first struct that has its field, else
// nothing. The structs are given by pointers.
func (r *Records) Add(cells map[string]any, from ...any) {
	row := make([]any, len(r.Columns))
	for i, c := range r.Columns {
		value, given := cells[c.Name]
		for k := 0; k < len(from) && !given; k++ {
			v := reflect.ValueOf(from[k]).Elem()
			path, has := placesOf(v.Type())[c.Name]
			if given = has; has {
				value = flatValue(cellAt(v, path))
			}
		}
		row[i] = value
	}
	r.Rows = append(r.Rows, row)
}
