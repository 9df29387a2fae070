#!/usr/bin/perl
# SPDX-License-Identifier: ISC
# Cards that nobody means well with, each made by its seed alone.
#
#     perl hostile_cards.pl folder SEED PATH            a folder of files, links, pipes, sockets and devices under odd names
#     perl hostile_cards.pl zip|tar SEED PATH           a right archive of hostile entries
#     perl hostile_cards.pl torn-zip|torn-tar SEED PATH the same with bytes changed, cut out, doubled or cut off
#     perl hostile_cards.pl tear SEED PATH              what is done to those is done to the file that stands there
#
# Prints a line for each file that has content of its own, "SHA256 PATH" with the path in hex; of an archive also "must SHA256 PATH" for
# those that have to arrive whatever else stands there, and "lost PATH" for what looks like a file and may not.
use strict;
use warnings;
use Compress::Zlib;
use Digest::SHA qw(sha256_hex);
use Fcntl qw(S_IFCHR S_IFBLK);
use POSIX qw(mkfifo);
use Socket;

my ($how, $seed, $path) = @ARGV;
srand $seed;

sub one_of { $_[int rand @_] }

# ---- Names ----

my @pieces = ("\n", "\r", "\t", "\x01", "\x1b[2J", "\x7f", '%', '%0A', '%25', "'", '"', '\\n', '`id`', '$HOME', '*', '?', ' ', '-', '--to', '#', '~',
	'|', '<', '>', ':', ';', ',', '&', "\xff", "\xc3", "\xc2\x85", "\xed\xa0\x80", "\xe2\x80\xae", "\xef\xbf\xbf", "caf\xc3\xa9", "cafe\xcc\x81", 'A', 'a',
	'NM__', '0421', '.JPG', '.jpg', '.part', '.');
my @ours = ('bagit.txt', 'bag-info.txt', 'data', 'manifest-sha256.txt', 'files.csv', '.files.csv.part', '.N1.JPG.part', '..N1.JPG.part.part', 'x.aside',
	'sequences', 'ledger.db', '.0.1.part', '-rf', '--', 'lost+found', 'CON', 'aux.jpg', 'trail ', 'trail.', '...', '.hidden');

sub component {
	return one_of(@ours) if rand() < 0.2;
	return one_of('x', "\xc3\xa9") x 251 . '.JPG' if rand() < 0.02 && $how eq 'folder' && rand() < 0.5;
	my $name = join '', map { one_of(@pieces) } 1 .. 1 + int rand 6;
	return $name =~ /^\.{1,2}$/ ? 'dots' : $name;
}

sub good_path { join '/', 'DCIM', map { component() } 1 .. 1 + int rand(rand() < 0.05 ? 60 : 4) }

sub content {
	my $size = one_of(0, 1, 40, 4095, 4096, 5000, 65536, rand() < 0.1 ? 1200000 : 70000);
	return substr pack('L*', map { int rand 4294967296 } 0 .. $size / 4), 0, $size;
}

sub hex_of { unpack 'H*', $_[0] }

# ---- A folder ----

my @times = (0, 1, -1, -2208988800, 2147483647, 2147483648, 4354819198, 4294967296, 9223372036, 253402300799, 1778944324);

sub make_folders {
	my ($at, @names) = @_;
	for my $name (@names) {
		$at .= "/$name";
		mkdir $at;
		return if -l $at || !-d $at;
	}
	return $at;
}

sub make_file {
	my ($at, $shown) = @_;
	my $bytes = content();
	return if -e $at || -l $at;
	open my $file, '>:raw', $at or return;
	print $file $bytes;
	close $file;
	my $time = one_of(@times);
	utime $time, $time, $at;
	chmod one_of(0444, 0644, 0600), $at;
	print sha256_hex($bytes), ' ', hex_of($shown), "\n";
}

sub make_folder_entry {
	my ($at, $shown) = @_;
	my $kind = rand;
	if ($kind < 0.6) { make_file($at, $shown) }
	elsif ($kind < 0.7) { symlink one_of('.', '..', '/', '/etc/passwd', '../../../guard', '../../../guard/kept', 'nothing', $at), $at }
	elsif ($kind < 0.78) { mkfifo($at, 0666) }
	elsif ($kind < 0.84) {
		socket my $socket, PF_UNIX, SOCK_STREAM, 0;
		bind $socket, pack_sockaddr_un($at) if length $at < 100;
	}
	elsif ($kind < 0.92) { system 'mknod', '--', $at, one_of('c 1 5', 'c 1 3', 'b 7 250') =~ /(\S+)/g }
	else { mkdir $at }
}

sub build_folder {
	mkdir $path;
	make_folders($path, 'DCIM');
	make_file("$path/DCIM/N1.JPG", 'DCIM/N1.JPG');
	for (1 .. 5 + int rand 40) {
		my @names = split m{/}, good_path();
		my $last = pop @names;
		my $folder = make_folders($path, @names) or next;
		make_folder_entry("$folder/$last", join '/', @names, $last);
	}
}

# ---- What stands in an archive ----

my @escapes = ('../N1.JPG', 'DCIM/../../N1.JPG', '/N1.JPG', '/etc/headrace', './../N1.JPG', 'DCIM//N1.JPG', 'DCIM/./N1.JPG', '..', 'DCIM/..', '../../../guard/kept');

# { name, type (tar's), body, link, must, lost }: what is a file and honest must arrive, unless its name clashes.
sub entries {
	my (@entries, %taken);
	push @entries, { name => 'DCIM/N1.JPG', type => '0', body => content(), must => 1 };
	for (1 .. 3 + int rand 25) {
		my ($kind, $name) = (rand, good_path());
		if ($kind < 0.5) { push @entries, { name => $name, type => '0', body => content(), must => 1 } }
		elsif ($kind < 0.65) { push @entries, { name => one_of(@escapes), type => '0', body => 'escaped', lost => 1 } }
		elsif ($kind < 0.72) { push @entries, { name => $name, type => '2', link => one_of('/etc', '../../guard', 'N1.JPG', '.'), body => '' } }
		elsif ($kind < 0.76) { push @entries, { name => "$entries[-1]{name}/N2.JPG", type => '0', body => content(), must => 1 } }
		elsif ($kind < 0.80) { push @entries, { name => one_of(map { $_->{name} } grep { $_->{type} eq '0' } @entries), type => '0', body => 'the same again', lost => 1 } }
		elsif ($kind < 0.84) { push @entries, { name => $name, type => '1', link => 'DCIM/N1.JPG', body => '', lost => 1 } }
		elsif ($kind < 0.92) { push @entries, { name => $name, type => one_of('3', '4', '6'), body => '' } }
		else { push @entries, { name => "$name/", type => '5', body => '' } }
	}
	# A name that comes again, or as a folder of others, is nobody's to promise.
	my %count;
	for my $entry (@entries) {
		my @names = split m{/}, $entry->{name} =~ s{^(\./)+}{}r;
		$count{ join '/', @names }++;
		$taken{ join '/', @names[ 0 .. $_ ] } = 1 for 0 .. $#names - 1;
	}
	for my $entry (@entries) {
		$entry->{must} = 0 if ($count{ $entry->{name} } // 0) > 1 || $taken{ $entry->{name} };
		$entry->{must} = 0 if $entry->{name} =~ m{(^|/)\.{0,2}(/|$)} || $entry->{name} =~ /\\/;
	}
	return @entries;
}

sub tell_entries {
	for my $entry (@_) {
		next if $entry->{type} ne '0';
		my $line = sha256_hex($entry->{body}) . ' ' . hex_of($entry->{name}) . "\n";
		print $line;
		print "must $line" if $entry->{must} && $how !~ /^torn/;
		print 'lost ' . hex_of($entry->{name}) . "\n" if $entry->{lost} && $how !~ /^torn/;
	}
}

# ---- tar: POSIX ustar, with an extended header where a name is long ----

sub tar_block {
	my ($name, $type, $size, $link) = @_;
	my $mtime = sprintf '%011o', one_of(0, 1, 1778944324, 8589934591);
	my $head = pack 'a100 a8 a8 a8 a12 a12 A8 a1 a100 a6 a2 a32 a32 a8 a8 a155 a12', $name, '0000644', '0000000', '0000000', sprintf('%011o', $size), $mtime,
		'', $type, $link, 'ustar', '00', '', '', $type =~ /[34]/ ? '0000001' : '', $type =~ /[34]/ ? '0000005' : '', '', '';
	my $sum = unpack '%32C*', $head;
	substr $head, 148, 8, sprintf("%06o\0 ", $sum);
	return $head;
}

sub padded { my $bytes = shift; return $bytes . "\0" x (-length($bytes) % 512) }

sub pax_record {
	my ($key, $value) = @_;
	my $size = my $rest = length(" $key=$value\n");
	$size = $rest + length $size for 1 .. 3;
	return "$size $key=$value\n";
}

sub build_tar {
	my $tar = '';
	for my $entry (@_) {
		my $name = $entry->{name};
		if (length $name > 100) {
			my $record = pax_record('path', $name);
			$tar .= tar_block('x', 'x', length $record, '') . padded($record);
			$name = 'long';
		}
		$tar .= tar_block($name, $entry->{type}, length $entry->{body}, $entry->{link} // '') . padded($entry->{body});
	}
	return $tar . "\0" x 1024;
}

# ---- zip: APPNOTE 6.3, stored or deflated ----

my %modes = (0 => 0100644, 1 => 0100644, 2 => 0120777, 3 => 0020644, 4 => 0060644, 5 => 0040755, 6 => 0140644);

sub deflated {
	my ($stream) = deflateInit(-WindowBits => -15);
	my ($first) = $stream->deflate($_[0]);
	my ($last) = $stream->flush();
	return $first . $last;
}

sub build_zip {
	my ($zip, $directory, $count) = ('', '', 0);
	for my $entry (@_) {
		my $body = $entry->{type} eq '2' ? $entry->{link} : $entry->{body};
		my $is_encrypted = $entry->{type} eq '1';
		my $method = $is_encrypted || rand() < 0.5 ? 0 : 8;
		my $packed = $method ? deflated($body) : $body;
		my @common = ($is_encrypted ? 1 : 0, $method, 0, 0x5a21, crc32($body), length $packed, length $body, length $entry->{name});
		my $offset = length $zip;
		$zip .= pack('VvvvvvVVVvv', 0x04034b50, 20, @common, 0) . $entry->{name} . $packed;
		$directory .= pack('VvvvvvvVVVvvvvvVV', 0x02014b50, 3 << 8 | 20, 20, @common, 0, 0, 0, 0, $modes{ $entry->{type} } << 16, $offset) . $entry->{name};
		$count++;
	}
	return $zip . $directory . pack('VvvvvVVv', 0x06054b50, 0, 0, $count, $count, length $directory, length $zip, 0);
}

# ---- What is done to it ----

sub tear {
	my $bytes = shift;
	for (1 .. 1 + int rand(rand() < 0.5 ? 1 : 6)) {
		my ($at, $size) = (int rand length $bytes, 1 + int rand 600);
		my $deed = rand;
		# Headers are few among contents: half of what is changed stands behind a mark of one.
		my @marks;
		push @marks, pos $bytes while $bytes =~ /PK\x01\x02|PK\x03\x04|PK\x05\x06|ustar|CD001|DCIM|N\d\.JPG/g;
		$at = one_of(@marks) + int(rand 60) - 20 if @marks && rand() < 0.7;
		$at = 0 if $at < 0;
		$at = length($bytes) - 1 if $at >= length $bytes;
		if ($deed < 0.5) { substr $bytes, $at, 1, chr int rand 256 }
		elsif ($deed < 0.65) { substr $bytes, $at, 4, pack 'V', one_of(0, 1, 0x7fffffff, 0xffffffff, 0xfffffffe, int rand 4294967296) }
		elsif ($deed < 0.75) { substr $bytes, $at, $size, '' }
		elsif ($deed < 0.85) { substr $bytes, $at, 0, substr $bytes, int rand length $bytes, $size }
		elsif ($deed < 0.9) { $bytes = substr $bytes, 0, $at + 1 }
		else { substr $bytes, $at, 12, '77777777777 ' }
	}
	return $bytes;
}

sub save {
	open my $file, '>:raw', $path or die "$path: $!";
	print $file @_;
	close $file;
}

if ($how eq 'folder') {
	build_folder();
} elsif ($how eq 'tear') {
	open my $file, '<:raw', $path or die "$path: $!";
	local $/;
	save(tear(scalar <$file>));
} else {
	my @entries = entries();
	@entries = grep { $_->{type} ne '6' } @entries if $how =~ /zip$/ && rand() < 0.5;
	tell_entries(@entries);
	my $bytes = $how =~ /zip$/ ? build_zip(@entries) : build_tar(@entries);
	save($how =~ /^torn/ ? tear($bytes) : $bytes);
}
