# Writes the text file IN as `const std::string_view lastroom::embedded::SYMBOL` into OUT. In pieces: a string literal
# may not be longer than 65,536 characters by the standard's minimum.
file(READ ${IN} text)
string(LENGTH "${text}" length)
set(body "")
set(at 0)
while(at LESS length)
  string(SUBSTRING "${text}" ${at} 8000 piece)
  string(APPEND body "R\"lastroom~(${piece})lastroom~\"\n")
  math(EXPR at "${at} + 8000")
endwhile()
file(WRITE ${OUT} "#include <string_view>\nnamespace lastroom::embedded {\nextern const std::string_view ${SYMBOL};\nconst std::string_view ${SYMBOL} =\n${body};\n}\n")
