package drawing

import ("testing";"golang.org/x/image/font/sfnt";"fmt")
func TestProbe(t *testing.T){ f:=faceOf(false); g:=faceOf(true); var b sfnt.Buffer
 for _,r:=range "▯□\uFFFDΩ°✓✕→←↑↓·≈≤⎓~±−…“”éа漢◆▲" { fmt.Printf("%c %v %v\n",r,f.has(&b,r),g.has(&b,r)) } 
 fmt.Println(Width("BLACK",13,true),Width("five-volt",13,false))}
