"""Texts that try to break out of wherever they are put."""

from __future__ import annotations

HOSTILE = (
    "<script>alert(1)</script>",
    "</style><img src=x onerror=alert(1)>",
    '"><svg onload=alert(1)>',
    "' onmouseover='alert(1)",
    "{{ 7 * 7 }} {% raw %}",
    '=HYPERLINK("http://evil.invalid";"x")',
    "+1+1",
    "-2+3",
    "@SUM(A1)",
    "\t=1",
    "'=1",
    "\u202egnirts desrever\u202c",
    "\u2067abc\u2066",
    "🎛️📻 emoji 👩‍🔧",
    "a\x00b\x1b[31mred",
    "back\\slash; semi, comma\nline\r\nbreak",
    "| pipe | `code` **bold** [link](http://evil.invalid) <b>",
    "http://evil.invalid/x",
    "ümläut ß 日本語 العربية",
    "x" * 10_000,
    "0041",
    "116E203",
    "10-12",
    "&lt;already&gt; &amp;",
    "--><!--",
    "]]>",
    "javascript:alert(1)",
)
