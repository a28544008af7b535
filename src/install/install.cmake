# What `cmake --install` puts in place, for who uses the program and for who builds on the library. Components are the
# packages of package.cmake.
include(GNUInstallDirs)
include(CMakePackageConfigHelpers)

# The library is one object in one archive, in which only what its headers declare can be linked to: nothing of a guest's
# can be taken for ours, or ours for its own, such as an inline function of Eigen that the guest compiles for other
# processors.
get_property(rooms GLOBAL PROPERTY lastroom_rooms)
set(one_object ${CMAKE_BINARY_DIR}/lastroom_library.o)
list(REMOVE_ITEM rooms lastroom_lastroom lastroom_shelf_index)
list(TRANSFORM rooms REPLACE "(.+)" "$<TARGET_FILE:\\1>" OUTPUT_VARIABLE room_archives)
add_custom_command(OUTPUT ${one_object} VERBATIM
  DEPENDS lastroom_lastroom ${rooms} lastroom_core ${CMAKE_SOURCE_DIR}/src/install/one_object.sh
  COMMAND sh ${CMAKE_SOURCE_DIR}/src/install/one_object.sh ${CMAKE_LINKER} ${CMAKE_OBJCOPY} ${CMAKE_NM} ${one_object}
          $<TARGET_FILE:lastroom_lastroom> ${room_archives} $<TARGET_FILE:lastroom_core>)
add_library(lastroom_library STATIC ${one_object})
set_source_files_properties(${one_object} PROPERTIES EXTERNAL_OBJECT ON GENERATED ON)
set_target_properties(lastroom_library PROPERTIES LINKER_LANGUAGE CXX OUTPUT_NAME lastroom EXPORT_NAME lastroom)
target_compile_features(lastroom_library PUBLIC cxx_std_20)
target_include_directories(lastroom_library INTERFACE $<BUILD_INTERFACE:${CMAKE_SOURCE_DIR}/src>
  $<INSTALL_INTERFACE:${CMAKE_INSTALL_INCLUDEDIR}>)
target_link_libraries(lastroom_library PUBLIC Eigen3::Eigen
  PRIVATE TBB::tbb OpenSSL::Crypto pugixml::pugixml fmt::fmt ${CMAKE_DL_LIBS})

set(package_files ${CMAKE_INSTALL_LIBDIR}/cmake/lastroom)
set(helpers lib/lastroom)  # where the program looks (open3d_adapter/program_files.h), on Debian not in a folder by machine
configure_package_config_file(src/install/lastroom-config.cmake.in lastroom-config.cmake
  INSTALL_DESTINATION ${package_files} PATH_VARS helpers)
write_basic_package_version_file(lastroom-config-version.cmake COMPATIBILITY SameMinorVersion)
install(TARGETS lastroom_library EXPORT lastroom ARCHIVE DESTINATION ${CMAKE_INSTALL_LIBDIR} COMPONENT dev)
install(EXPORT lastroom NAMESPACE lastroom:: FILE lastroom-targets.cmake DESTINATION ${package_files} COMPONENT dev)
install(FILES ${CMAKE_BINARY_DIR}/lastroom-config.cmake ${CMAKE_BINARY_DIR}/lastroom-config-version.cmake
  DESTINATION ${package_files} COMPONENT dev)
foreach(header version mesh foot last rules result fit)
  install(FILES src/lastroom/${header}.h DESTINATION ${CMAKE_INSTALL_INCLUDEDIR}/lastroom COMPONENT dev)
endforeach()

# The man page is what --help says.
add_custom_command(OUTPUT ${CMAKE_BINARY_DIR}/lastroom.1 DEPENDS lastroom ${CMAKE_SOURCE_DIR}/src/install/man.sh VERBATIM
  COMMAND sh ${CMAKE_SOURCE_DIR}/src/install/man.sh $<TARGET_FILE:lastroom> ${CMAKE_BINARY_DIR}/lastroom.1)
add_custom_target(man ALL DEPENDS ${CMAKE_BINARY_DIR}/lastroom.1)
install(TARGETS lastroom RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR} COMPONENT program)
install(FILES ${CMAKE_BINARY_DIR}/lastroom.1 DESTINATION ${CMAKE_INSTALL_MANDIR}/man1 COMPONENT program)
install(FILES src/install/lastroom.bash DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions
  RENAME lastroom COMPONENT program)
install(FILES src/assessment/default_rules.xml DESTINATION ${CMAKE_INSTALL_DATADIR}/lastroom RENAME rules.xml
  COMPONENT program)
install(FILES LICENSE DESTINATION ${CMAKE_INSTALL_DATADIR}/doc/lastroom RENAME copyright COMPONENT program)

install(TARGETS lastroom_open3d LIBRARY DESTINATION ${helpers} COMPONENT open3d)
install(TARGETS lastroom_open3d_reader RUNTIME DESTINATION ${helpers} COMPONENT open3d)
