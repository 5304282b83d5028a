//go:build !race

package desk_test

const raced = false
