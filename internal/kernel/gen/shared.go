package main

import "github.com/mmcloughlin/avo/attr"

// nosplit: a kernel has a small frame or none and calls nothing.
const nosplit = attr.NOSPLIT
