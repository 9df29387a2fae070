/* SPDX-License-Identifier: ISC */
/* A volume that shows a folder and does it harm by rule:
 *
 *     faulty_volume [--seed N] [--log FILE] [--rules FILE] [--rule 'RULE']... SOURCE MOUNT
 *
 * mounts, goes into the background, and ends when it is unmounted. faulty_rules.h teaches the rules, faulty_state.h the
 * log. Nothing of it is cached by the kernel, neither bytes nor names nor sizes, so that each call comes here: harm is
 * neither hidden nor repeated. Links and devices are shown as they are; extended attributes are not. */
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "faulty_calls.h"

static void *begin(struct fuse_conn_info *connection, struct fuse_config *config)
{
    (void)connection;
    config->direct_io = 1;
    config->entry_timeout = config->attr_timeout = config->negative_timeout = 0;
    config->use_ino = 1;
    config->hard_remove = 1;
    return faulty_here(); /* stays the private data */
}

static _Noreturn void refuse(const char *text)
{
    fprintf(stderr, "faulty_volume: %s\n", text);
    exit(2);
}

static void add_rule(struct faulty_rules *rules, const char *line)
{
    char complaint[2048];
    if (!faulty_rules_add(rules, line, complaint, sizeof complaint))
        refuse(complaint);
}

static void add_rules(struct faulty_rules *rules, const char *path)
{
    char line[1024];
    FILE *file = fopen(path, "re");
    if (!file)
        refuse("cannot open the rules");
    while (fgets(line, sizeof line, file))
        add_rule(rules, line);
    fclose(file);
}

int main(int count, char **words)
{
    static struct faulty_rules rules;
    const char *log_path = NULL;
    int next = 1;
    for (; next + 1 < count && !strncmp(words[next], "--", 2); next += 2) {
        const char *value = words[next + 1];
        if (!strcmp(words[next], "--seed"))
            rules.seed = strtoull(value, NULL, 10);
        else if (!strcmp(words[next], "--log"))
            log_path = value;
        else if (!strcmp(words[next], "--rules"))
            add_rules(&rules, value);
        else if (!strcmp(words[next], "--rule"))
            add_rule(&rules, value);
        else
            refuse("the head of tests/support/faulty_volume.c says what can be asked");
    }
    if (count - next != 2)
        refuse("name a source and a mount point");
    struct faulty_volume volume = {.source = open(words[next], O_RDONLY | O_DIRECTORY | O_CLOEXEC)};
    volume.state = volume.source < 0 ? NULL : faulty_state_create(&rules, log_path);
    if (!volume.state)
        refuse("cannot open the source or the log");
    struct fuse_operations operations = {.init = begin};
    faulty_fill_names(&operations);
    faulty_fill_files(&operations);
    char *const wanted[] = {words[0], "-o", "fsname=faulty,subtype=faulty_volume,default_permissions", words[next + 1],
                            NULL};
    umask(0); /* modes are the caller's */
    return fuse_main(4, (char **)(uintptr_t)wanted, &operations, &volume);
}
