# The rooms of the house, and the one table of who may include whom: CMake links by it, tests/house_test.cpp reads it and
# holds every #include line and the table of DEVELOPERS.md against it. In the order of the flow.
#
# room(NAME [NATIVE] [NO_LIBRARY] MAY_INCLUDE rooms... LIBRARIES libraries...): NATIVE is not in the browser; NO_LIBRARY is
# built elsewhere. `lastroom_words` as a library: to throw facts (error.h), whose English is there, without including it.
room(words MAY_INCLUDE LIBRARIES pugixml::pugixml fmt::fmt)
room(digest MAY_INCLUDE LIBRARIES OpenSSL::Crypto)
room(geometry MAY_INCLUDE LIBRARIES Eigen3::Eigen TBB::tbb nanoflann::nanoflann)
room(files MAY_INCLUDE LIBRARIES lastroom_words)
room(open3d_adapter MAY_INCLUDE geometry LIBRARIES lastroom_words)
room(mesh_io MAY_INCLUDE digest files geometry open3d_adapter LIBRARIES nlohmann_json::nlohmann_json fmt::fmt)
room(preparation MAY_INCLUDE geometry mesh_io open3d_adapter LIBRARIES fmt::fmt)
room(measurement MAY_INCLUDE geometry preparation LIBRARIES fmt::fmt)
room(zones MAY_INCLUDE geometry preparation)
room(registration MAY_INCLUDE geometry preparation measurement zones LIBRARIES fmt::fmt)
room(clearance MAY_INCLUDE geometry preparation measurement zones registration)
room(assessment MAY_INCLUDE digest geometry preparation measurement zones registration clearance
     LIBRARIES pugixml::pugixml fmt::fmt)
room(shelf_index NATIVE MAY_INCLUDE words digest files geometry mesh_io preparation measurement
     LIBRARIES SQLite::SQLite3 fmt::fmt)
room(screening MAY_INCLUDE geometry preparation measurement assessment)
room(report MAY_INCLUDE words digest geometry mesh_io preparation measurement zones registration clearance assessment
     screening LIBRARIES pugixml::pugixml nlohmann_json::nlohmann_json fmt::fmt)
room(demo MAY_INCLUDE geometry mesh_io LIBRARIES fmt::fmt)
room(lastroom NATIVE MAY_INCLUDE files geometry open3d_adapter mesh_io preparation measurement zones registration clearance
     assessment report LIBRARIES lastroom_core)
room(python NO_LIBRARY MAY_INCLUDE lastroom)
room(page NO_LIBRARY MAY_INCLUDE words geometry mesh_io preparation measurement zones registration clearance assessment
     report demo)
room(commands NO_LIBRARY MAY_INCLUDE words digest files geometry mesh_io preparation measurement assessment shelf_index
     screening report demo)
