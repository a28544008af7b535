# `cpack` in the build folder: packages for Debian 12, one a component. Open3D, half a gigabyte with all that it needs, is
# recommended by the program and not required.
set(LASTROOM_MAINTAINER "The maintainers of lastroom <maintainers@localhost>" CACHE STRING "Name and address, for packages")
set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_CONTACT "${LASTROOM_MAINTAINER}")
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
set(CPACK_DEB_COMPONENT_INSTALL ON)
set(CPACK_COMPONENTS_GROUPING IGNORE)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_SECTION science)

# package(COMPONENT NAME WHAT KEY VALUE...): keys as CPACK_DEBIAN_<COMPONENT>_PACKAGE_ has them.
function(package component name what)
  string(TOUPPER ${component} upper)
  set(CPACK_DEBIAN_${upper}_PACKAGE_NAME ${name} PARENT_SCOPE)
  set(CPACK_DEBIAN_${upper}_DESCRIPTION "${what}\nIt compares two shapes and is no diagnosis: the fit of feet at risk is \
checked by a podiatrist or orthotist." PARENT_SCOPE)
  while(ARGN)
    list(POP_FRONT ARGN key value)
    set(CPACK_DEBIAN_${upper}_PACKAGE_${key} "${value}" PARENT_SCOPE)
  endwhile()
  set(CPACK_COMPONENTS_ALL ${CPACK_COMPONENTS_ALL} ${component} PARENT_SCOPE)
endfunction()

package(program lastroom "stands a scanned foot in a shoe last and says where it presses"
  SHLIBDEPS ON RECOMMENDS lastroom-open3d SUGGESTS chromium)
package(open3d lastroom-open3d "scans of bare points and rare mesh formats for lastroom" SHLIBDEPS ON ENHANCES lastroom)
package(dev liblastroom-dev "lastroom as a library for C++ programs"
  SECTION libdevel DEPENDS "libeigen3-dev, libtbb-dev, libssl-dev, libpugixml-dev, libfmt-dev")
if(TARGET lastroom_python)  # numpy is imported at the first array, which no linker sees
  package(python python3-lastroom "lastroom as a Python module"
    SECTION python SHLIBDEPS ON DEPENDS "python3 (>= 3.11), python3 (<< 3.12), python3-numpy" RECOMMENDS lastroom-open3d)
endif()
include(CPack)
