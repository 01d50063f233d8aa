# The C library of src/fid.h, in both forms, and what `cmake --install` puts where: the program, the library, the header,
# what find_package(fid) and pkg-config read, the schema of skeleton files, the pages.

include(GNUInstallDirs)
include(CMakePackageConfigHelpers)

# The number of the binary interface stands in the header alone.
file(STRINGS "${PROJECT_SOURCE_DIR}/src/fid.h" fid_interface REGEX "^#define FID_INTERFACE [0-9]+$")
string(REGEX REPLACE ".* " "" fid_interface "${fid_interface}")
if(NOT fid_interface MATCHES "^[0-9]+$")
    message(FATAL_ERROR "src/fid.h does not say #define FID_INTERFACE NUMBER")
endif()

add_library(fid_shared SHARED $<TARGET_OBJECTS:fid_objects>)
add_library(fid_static STATIC $<TARGET_OBJECTS:fid_objects>)
set_target_properties(fid_shared PROPERTIES
    OUTPUT_NAME fid EXPORT_NAME fid VERSION ${PROJECT_VERSION} SOVERSION ${fid_interface})
set_target_properties(fid_static PROPERTIES OUTPUT_NAME fid EXPORT_NAME static)
add_library(fid::fid ALIAS fid_shared)
add_library(fid::static ALIAS fid_static)

target_link_libraries(fid_shared PRIVATE PkgConfig::FID_CJSON Threads::Threads m)
if(FID_SANITIZE)
    # The sanitizer's own functions come with the program.
    target_link_options(fid_shared PRIVATE -fsanitize=${FID_SANITIZE})
else()
    target_link_options(fid_shared PRIVATE -Wl,--no-undefined)
endif()
if(FID_COVERAGE)
    target_link_options(fid_shared PRIVATE --coverage)
endif()
# The config file finds libcjson under this name, and only for who links the static form.
target_link_libraries(fid_static PRIVATE $<BUILD_INTERFACE:PkgConfig::FID_CJSON> $<INSTALL_INTERFACE:fid::cjson>
    Threads::Threads m)

foreach(target IN ITEMS fid_shared fid_static)
    set_target_properties(${target} PROPERTIES LINKER_LANGUAGE C)
    target_include_directories(${target} INTERFACE
        $<BUILD_INTERFACE:${PROJECT_SOURCE_DIR}/src> $<INSTALL_INTERFACE:${CMAKE_INSTALL_INCLUDEDIR}>)
endforeach()

if(TARGET fid)
    install(TARGETS fid RUNTIME DESTINATION "${CMAKE_INSTALL_BINDIR}")
    install(FILES "${PROJECT_SOURCE_DIR}/docs/fid.1" DESTINATION "${CMAKE_INSTALL_MANDIR}/man1")
    set(fid_completion "${PROJECT_SOURCE_DIR}/docs/completion")
    install(FILES "${fid_completion}/fid.bash" DESTINATION "${CMAKE_INSTALL_DATADIR}/bash-completion/completions"
        RENAME fid)
    install(FILES "${fid_completion}/_fid" DESTINATION "${CMAKE_INSTALL_DATADIR}/zsh/site-functions")
    install(FILES "${fid_completion}/fid.fish" DESTINATION "${CMAKE_INSTALL_DATADIR}/fish/vendor_completions.d")
endif()
install(TARGETS fid_shared EXPORT fid_shared LIBRARY DESTINATION "${CMAKE_INSTALL_LIBDIR}")
install(TARGETS fid_static EXPORT fid_static ARCHIVE DESTINATION "${CMAKE_INSTALL_LIBDIR}")
install(FILES "${PROJECT_SOURCE_DIR}/src/fid.h" DESTINATION "${CMAKE_INSTALL_INCLUDEDIR}")
install(FILES "${PROJECT_SOURCE_DIR}/docs/skeleton.schema.json" DESTINATION "${CMAKE_INSTALL_DATADIR}/fid")
install(FILES "${PROJECT_SOURCE_DIR}/README.md" "${PROJECT_SOURCE_DIR}/DEVELOPERS.md" "${PROJECT_SOURCE_DIR}/LICENSE"
    DESTINATION "${CMAKE_INSTALL_DOCDIR}")
install(DIRECTORY "${PROJECT_SOURCE_DIR}/docs" DESTINATION "${CMAKE_INSTALL_DOCDIR}")

set(fid_config_folder "${CMAKE_INSTALL_LIBDIR}/cmake/fid")
install(EXPORT fid_shared NAMESPACE fid:: FILE fid-shared.cmake DESTINATION "${fid_config_folder}")
install(EXPORT fid_static NAMESPACE fid:: FILE fid-static.cmake DESTINATION "${fid_config_folder}")
configure_package_config_file("${PROJECT_SOURCE_DIR}/cmake/fid-config.cmake.in"
    "${PROJECT_BINARY_DIR}/generated/fid-config.cmake" INSTALL_DESTINATION "${fid_config_folder}"
    NO_SET_AND_CHECK_MACRO)
# Before 1.0 a new minor version may change what functions do.
write_basic_package_version_file("${PROJECT_BINARY_DIR}/generated/fid-config-version.cmake"
    COMPATIBILITY SameMinorVersion)
install(FILES "${PROJECT_BINARY_DIR}/generated/fid-config.cmake"
    "${PROJECT_BINARY_DIR}/generated/fid-config-version.cmake" DESTINATION "${fid_config_folder}")

# The folders of fid.pc are told relative to where it lies, so that the whole prefix may be moved.
set(fid_pc_folder "${CMAKE_INSTALL_LIBDIR}/pkgconfig")
if(IS_ABSOLUTE "${fid_pc_folder}" OR IS_ABSOLUTE "${CMAKE_INSTALL_INCLUDEDIR}")
    set(fid_pc_prefix "${CMAKE_INSTALL_PREFIX}")
    cmake_path(ABSOLUTE_PATH CMAKE_INSTALL_LIBDIR BASE_DIRECTORY "${CMAKE_INSTALL_PREFIX}" OUTPUT_VARIABLE fid_pc_lib)
    cmake_path(ABSOLUTE_PATH CMAKE_INSTALL_INCLUDEDIR BASE_DIRECTORY "${CMAKE_INSTALL_PREFIX}"
        OUTPUT_VARIABLE fid_pc_include)
else()
    file(RELATIVE_PATH fid_pc_up "/prefix/${fid_pc_folder}" "/prefix")
    set(fid_pc_prefix "\${pcfiledir}/${fid_pc_up}")
    set(fid_pc_lib "\${prefix}/${CMAKE_INSTALL_LIBDIR}")
    set(fid_pc_include "\${prefix}/${CMAKE_INSTALL_INCLUDEDIR}")
endif()
configure_file("${PROJECT_SOURCE_DIR}/cmake/fid.pc.in" "${PROJECT_BINARY_DIR}/generated/fid.pc" @ONLY)
install(FILES "${PROJECT_BINARY_DIR}/generated/fid.pc" DESTINATION "${fid_pc_folder}")
