package mining

// hide says which cells of a table must not be shown: those from 1 to least-1,
// and then as many others that none of them follows from the sums of its row
// and its column, which are taken as known: of a line none or at least two are
// hidden, and those together are no small group either. Rows in gone are hidden
// whole: their sum is not shown elsewhere either.
//
// The cell added is the smallest one there is, a zero only where there is
// nothing else. This guards against subtraction within one report. It does not
// guard against two reports over slightly different spans.
func hide(table [][]int, gone []bool, least int) [][]bool {
	hidden := make([][]bool, len(table))
	for i, row := range table {
		hidden[i] = make([]bool, len(row))
		for j, n := range row {
			hidden[i][j] = n > 0 && n < least || gone != nil && gone[i]
		}
	}
	if len(table) == 0 {
		return hidden
	}
	cols := len(table[0])
	for changed := true; changed; {
		changed = false
		for i := range table {
			if cols > 1 && (gone == nil || !gone[i]) {
				changed = hideOneMore(cols, least, func(j int) (int, *bool) { return table[i][j], &hidden[i][j] }) || changed
			}
		}
		for j := range cols {
			changed = hideOneMore(len(table), least, func(i int) (int, *bool) { return table[i][j], &hidden[i][j] }) || changed
		}
	}
	return hidden
}

// hideOneMore hides one more cell of a line in which just one is hidden, or in
// which those hidden come to less than least.
func hideOneMore(n, least int, cell func(int) (int, *bool)) bool {
	count, sum, best := 0, 0, -1
	for i := range n {
		v, h := cell(i)
		switch {
		case *h:
			count++
			sum += v
		case best < 0:
			best = i
		default:
			b, _ := cell(best)
			if b == 0 && v > 0 || v > 0 && v < b {
				best = i
			}
		}
	}
	if count == 0 || best < 0 || count > 1 && (sum == 0 || sum >= least) {
		return false
	}
	v, h := cell(best)
	if v == 0 && count > 1 {
		return false // the sum of the line is small, and so is not shown where it stands
	}
	*h = true
	return true
}

// showable says whether x of n may be shown: neither those who are x nor those
// who are not may be a small group.
func showable(x, n, least int) bool {
	small := func(v int) bool { return v > 0 && v < least }
	return n >= least && !small(x) && !small(n-x)
}
