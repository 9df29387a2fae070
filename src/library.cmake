# SPDX-License-Identifier: ISC
# libheadrace for other programs: static and shared, headers, pkg-config file and CMake package. Only what the headers mark HR_API is visible
# in the shared one.
include(CMakePackageConfigHelpers)

set(parts LibArchive::LibArchive OpenSSL::Crypto SQLite::SQLite3 EXPAT::EXPAT PkgConfig::LIBEXIF PkgConfig::XXHASH PkgConfig::UTF8PROC Threads::Threads m)
add_library(headrace_static STATIC $<TARGET_OBJECTS:headrace_objects>)
target_link_libraries(headrace_static PRIVATE ${parts})
add_library(headrace_shared SHARED $<TARGET_OBJECTS:headrace_objects>)
target_link_libraries(headrace_shared PRIVATE headrace_flags ${parts})
set_target_properties(headrace_shared PROPERTIES VERSION ${PROJECT_VERSION} SOVERSION ${PROJECT_VERSION_MAJOR})
foreach(kind static shared)
  set_target_properties(headrace_${kind} PROPERTIES OUTPUT_NAME headrace EXPORT_NAME ${kind} LINKER_LANGUAGE C)
  target_include_directories(headrace_${kind} INTERFACE $<INSTALL_INTERFACE:${CMAKE_INSTALL_INCLUDEDIR}>)
  add_library(headrace::${kind} ALIAS headrace_${kind})
endforeach()

set(package ${CMAKE_INSTALL_LIBDIR}/cmake/headrace)
install(TARGETS headrace_static headrace_shared EXPORT headraceTargets)
install(EXPORT headraceTargets NAMESPACE headrace:: DESTINATION ${package})
install(DIRECTORY ${PROJECT_SOURCE_DIR}/include/headrace DESTINATION ${CMAKE_INSTALL_INCLUDEDIR} FILES_MATCHING PATTERN "*.h")

configure_package_config_file(headraceConfig.cmake.in headraceConfig.cmake INSTALL_DESTINATION ${package})
write_basic_package_version_file(headraceConfigVersion.cmake COMPATIBILITY SameMajorVersion)
install(FILES ${CMAKE_CURRENT_BINARY_DIR}/headraceConfig.cmake ${CMAKE_CURRENT_BINARY_DIR}/headraceConfigVersion.cmake
  DESTINATION ${package})

# Found from where the file lies, so that the tree can be moved.
cmake_path(RELATIVE_PATH CMAKE_INSTALL_FULL_LIBDIR BASE_DIRECTORY ${CMAKE_INSTALL_PREFIX} OUTPUT_VARIABLE library_folder)
cmake_path(RELATIVE_PATH CMAKE_INSTALL_FULL_INCLUDEDIR BASE_DIRECTORY ${CMAKE_INSTALL_PREFIX} OUTPUT_VARIABLE include_folder)
cmake_path(RELATIVE_PATH CMAKE_INSTALL_PREFIX BASE_DIRECTORY ${CMAKE_INSTALL_FULL_LIBDIR}/pkgconfig OUTPUT_VARIABLE prefix_from_here)
configure_file(headrace.pc.in headrace.pc @ONLY)
install(FILES ${CMAKE_CURRENT_BINARY_DIR}/headrace.pc DESTINATION ${CMAKE_INSTALL_LIBDIR}/pkgconfig)
