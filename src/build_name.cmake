# Writes OUT: lastroom::build_name(), the version and a hash over the name and content of every file under src/ and of
# the words. Built in the order of the sorted names: the same sources give the same name on every machine.
file(GLOB_RECURSE files RELATIVE ${ROOT} ${ROOT}/src/*.cpp ${ROOT}/src/*.h ${ROOT}/src/*.xml ${ROOT}/src/*.css
  ${ROOT}/reports/*.xml)
list(SORT files)
set(all "")
foreach(file ${files})
  file(SHA256 ${ROOT}/${file} hash)
  string(APPEND all "${file} ${hash}\n")
endforeach()
string(SHA256 hash "${all}")
string(SUBSTRING ${hash} 0 16 hash)
file(WRITE ${OUT} "#include \"build_name.h\"\nnamespace lastroom {\nstd::string_view build_name() { return \"${VERSION}-${hash}\"; }\n}\n")
