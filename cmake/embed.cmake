# Writes OUTPUT, a C file that holds the files named in LIST (one path a line, relative to SOURCE) as byte arrays and
# the table declared in src/script/embedded.h, sorted by path.
#
#   cmake -DSOURCE=DIR -DLIST=FILE -DOUTPUT=FILE -P embed.cmake

file(STRINGS "${LIST}" paths)
list(SORT paths COMPARE STRING)

set(arrays "")
set(table "")
set(count 0)
foreach(path IN LISTS paths)
    file(READ "${SOURCE}/${path}" hex HEX)
    string(LENGTH "${hex}" digits)
    math(EXPR size "${digits} / 2")
    string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${hex}")
    # The closing zero is not counted. It keeps the array of an empty file from having no elements.
    string(APPEND arrays "static const unsigned char file_${count}[] = {${bytes}0x00};\n")
    string(APPEND table "    {\"${path}\", file_${count}, ${size}},\n")
    math(EXPR count "${count} + 1")
endforeach()

file(WRITE "${OUTPUT}" "#include \"script/embedded.h\"

#include <stddef.h>

${arrays}
const struct fid_embedded fid_embedded_files[] = {
${table}    {NULL, NULL, 0},
};

const size_t fid_embedded_count = ${count};
")
