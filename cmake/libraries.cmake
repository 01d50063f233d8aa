# Finds the system's libraries and gathers them in two targets: fid_library_libraries for the C library, fid_libraries
# for the program.
# cmocka is used by the tests alone and is looked for there.

find_package(PkgConfig)
if(NOT PKG_CONFIG_FOUND)
    message(FATAL_ERROR "pkg-config is missing. On Debian: apt-get install pkg-config")
endif()

# fid_require(PREFIX MODULE PACKAGE): finds MODULE or stops, naming the Debian package that brings it.
function(fid_require prefix module package)
    pkg_check_modules(${prefix} QUIET IMPORTED_TARGET GLOBAL ${module})
    if(NOT ${prefix}_FOUND)
        message(FATAL_ERROR "The library ${module} is missing. On Debian: apt-get install ${package}")
    endif()
    set(${prefix}_INCLUDE_DIRS "${${prefix}_INCLUDE_DIRS}" PARENT_SCOPE)
    set(${prefix}_LIBRARY_DIRS "${${prefix}_LIBRARY_DIRS}" PARENT_SCOPE)
endfunction()

fid_require(FID_CGLM cglm libcglm-dev)
fid_require(FID_CJSON libcjson libcjson-dev)
set(THREADS_PREFER_PTHREAD_FLAG ON)
find_package(Threads REQUIRED)

add_library(fid_library_libraries INTERFACE)
target_link_libraries(fid_library_libraries INTERFACE PkgConfig::FID_CJSON Threads::Threads m)

# cglm is used through its inline functions: headers, but nothing to link.
target_include_directories(fid_library_libraries SYSTEM INTERFACE ${FID_CGLM_INCLUDE_DIRS})

if(NOT FID_PROGRAM)
    return()
endif()

fid_require(FID_LUA lua5.4 liblua5.4-dev)
fid_require(FID_MD libmd libmd-dev)
fid_require(FID_EDIT libedit libedit-dev)

add_library(fid_libraries INTERFACE)

# The static Lua, where there is one, leaves the program one library less to look for.
find_library(FID_LUA_STATIC NAMES liblua5.4.a HINTS ${FID_LUA_LIBRARY_DIRS})
mark_as_advanced(FID_LUA_STATIC)
if(FID_LUA_STATIC)
    target_include_directories(fid_libraries SYSTEM INTERFACE ${FID_LUA_INCLUDE_DIRS})
    target_link_libraries(fid_libraries INTERFACE "${FID_LUA_STATIC}" ${CMAKE_DL_LIBS})
else()
    target_link_libraries(fid_libraries INTERFACE PkgConfig::FID_LUA)
endif()

# Archives of modules are read with it; without it the program says that they are left out.
option(FID_ARCHIVES "Read archives of modules, where libarchive is there" ON)
if(FID_ARCHIVES)
    pkg_check_modules(FID_ARCHIVE QUIET IMPORTED_TARGET GLOBAL libarchive)
    if(FID_ARCHIVE_FOUND)
        target_link_libraries(fid_libraries INTERFACE PkgConfig::FID_ARCHIVE)
        target_compile_definitions(fid_libraries INTERFACE FID_HAS_ARCHIVE)
    else()
        message(STATUS "Left out: archives of modules, because libarchive is missing. "
            "On Debian: apt-get install libarchive-dev")
    endif()
endif()

target_link_libraries(fid_libraries INTERFACE fid_library_libraries PkgConfig::FID_MD PkgConfig::FID_EDIT)
