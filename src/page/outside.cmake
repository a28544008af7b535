# Libraries from outside for Emscripten: headers that fixtures/page.sh has laid apart (LASTROOM_OUTSIDE; the machine's own
# include folder has its C library's too) and pugixml's one source.
foreach(library Eigen3::Eigen nanoflann::nanoflann nlohmann_json::nlohmann_json fmt::fmt)
  add_library(${library} INTERFACE IMPORTED)
  target_include_directories(${library} SYSTEM INTERFACE ${LASTROOM_OUTSIDE})
endforeach()
target_compile_definitions(fmt::fmt INTERFACE FMT_HEADER_ONLY)
add_library(pugixml STATIC ${LASTROOM_OUTSIDE}/pugixml.cpp)
target_include_directories(pugixml SYSTEM PUBLIC ${LASTROOM_OUTSIDE})
target_compile_options(pugixml PRIVATE -w)
add_library(pugixml::pugixml ALIAS pugixml)

# The compiler warns of other things than gcc, which the program is built with.
add_compile_options(-Wno-error -Wno-missing-field-initializers -fwasm-exceptions -include ${CMAKE_SOURCE_DIR}/src/page/older_libcxx.h)
add_link_options(-fwasm-exceptions)

# What a browser lacks; of the rooms that use it other files are built.
foreach(library TBB::tbb OpenSSL::Crypto)
  add_library(${library} INTERFACE IMPORTED)
endforeach()
