#!/usr/bin/perl
# SPDX-License-Identifier: ISC
# perl written_paths.pl TRACE FOLDER...: of a trace of strace -f -y, each call that opens for writing, makes, renames, links, removes or stamps
# something names a path below one of the folders. Prints those that do not; status 1 when there are any. To ask for a folder above one of them
# is no offence: that is how a path of folders is made.
use strict;
use warnings;

my ($trace, @folders) = @ARGV;
my $open = join '|', map { quotemeta } @folders;
my $below = qr{^(?:$open)(?:/|$)};
my $string = qr{"((?:[^"\\]|\\.)*)"};
my $place = qr{(?:AT_FDCWD|-?\d+)(?:<([^>]*)>)?};
my $bad = 0;

sub paths_of {
	my ($call, $rest) = @_;
	my @paths;
	if ($call =~ /at2?$/) {
		while ($rest =~ /$place,\s*(?:$string|NULL)/g) {
			my ($folder, $name) = ($1 // '?', $2 // '');
			push @paths, $name =~ m{^/} ? $name : length $name ? "$folder/$name" : $folder;
		}
	} elsif ($call =~ /^f/) {
		push @paths, $1 if $rest =~ /^$place/;
	} else {
		push @paths, $1 while $rest =~ /$string/g;
	}
	return @paths ? @paths : '?';
}

open my $file, '<', $trace or die "$trace: $!";
while (<$file>) {
	s/^\d+\s+//;
	my ($call, $rest) = /^(\w+)\((.*)/ or next;
	if ($call =~ /^(?:openat2?|open|creat)$/) {
		next unless $call eq 'creat' || $rest =~ /\bO_(?:WRONLY|RDWR|CREAT|TRUNC|APPEND)\b/;
		next if $rest =~ m{"/dev/(?:null|tty)"};
		next if $rest =~ m{\.gcda"}; # a build that counts what is run
	} elsif ($call !~ /^(?:mkdir|rename|link|symlink|unlink|rmdir|mknod|truncate|ftruncate|f?chmod|l?f?chown|utime|futimes|l?f?setxattr)/) {
		next;
	}
	$rest =~ s/^$string,\s*// if $call =~ /^symlink/; # its target is a word
	for my $path (paths_of($call, $rest)) {
		next if $path =~ $below && $path !~ m{(?:^|/)\.\.(?:/|$)};
		next if $call =~ /^mkdir/ && grep { index("$_/", "$path/") == 0 } @folders;
		print "outside: $path: $_";
		$bad = 1;
	}
}
exit $bad;
