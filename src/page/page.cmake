# The page: its door to the core as WebAssembly, then everything in one file.
file(GLOB page_sources CONFIGURE_DEPENDS src/page/*.cpp)
add_executable(page ${page_sources})
target_link_libraries(page PRIVATE lastroom_core)
target_link_options(page PRIVATE -O3 --no-entry -sENVIRONMENT=worker,node -sMODULARIZE -sEXPORT_NAME=core -sFILESYSTEM=0
  -sALLOW_MEMORY_GROWTH -sINITIAL_MEMORY=64MB -sMAXIMUM_MEMORY=4GB -sTOTAL_STACK=4MB
  -sEXPORTED_FUNCTIONS=_malloc,_free,_door_room,_door_answer,_door_name,_door_bytes,_door_size -sEXPORTED_RUNTIME_METHODS=HEAPU8)
set_target_properties(page PROPERTIES OUTPUT_NAME core)
