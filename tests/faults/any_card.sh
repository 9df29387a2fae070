# SPDX-License-Identifier: ISC
# Cards that follow from a seed alone; to be sourced.
#
#     any_card card 17 200          about 200 files below ./card, of all shapes that cards have
#     any_card_sums card            DIGEST<tab>PATH for each file below a folder, by sha256sum, sorted; no path holds a backslash
#
# Raw files and JPEGs of one stem, sound, files without a byte, of sizes about 4,096 bytes and now and then about a megabyte, names
# with blanks, quotes and letters of many alphabets. No block of 4,096 bytes is another or zeros, so that harm to one always shows.
any_card() {
	perl -e '
		use strict; use warnings; use Digest::MD5 "md5";
		my ($card, $seed, $count) = @ARGV;
		srand $seed;
		my $pool = join "", map { pack "L", int rand 4294967296 } 1 .. 4096;
		my $file = 0;
		sub bytes {
			my ($size) = @_;
			$file++;
			my $bytes = "";
			for (my $block = 0; length $bytes < $size; $block++) {
				$bytes .= md5("$seed $file $block") . substr($pool, int rand 12000, 4080);
			}
			return substr $bytes, 0, $size;
		}
		sub size {
			my $way = rand;
			return (0, 1, 2)[rand 3] if $way < 0.04;
			return 1048576 * (1 + int rand 2) + (-4097, -1, 0, 1, 4095, 4096)[rand 6] if $way > 0.99;
			return 4096 * (1 + int rand 12) + int(rand 3) - 1 if $way < 0.5;
			return 1 + int rand 30000;
		}
		sub make {
			my ($name) = @_;
			open my $out, ">:raw", "$card/$name" or die "$name: $!";
			print $out bytes(size());
			close $out or die $!;
			my $time = 1778940000 + int rand 5400;
			utime $time, $time, "$card/$name";
		}
		for my $folder ("", "/DCIM", "/MISC", "/DCIM/100NMERE", "/DCIM/101NMERE") {
			-d "$card$folder" or mkdir "$card$folder" or die $!;
		}
		my $number = 1 + int rand 9000;
		while ($file < $count) {
			my $stem = sprintf "DCIM/%dNMERE/NM%s_%04d", 100 + int rand 2, ("A", "B")[rand 2], $number++;
			make("$stem.JPG");
			make("$stem.NMR") if rand() < 0.3;
			make("$stem.WAV") if rand() < 0.05;
			make("MISC/" . ("Half time", "B\xc3\xb6e 100", "\xd0\xa4\xd0\xb8\xd0\xbd\xd0\xb0\xd0\xbb", "a\"b", " x ", ".note")[rand 6] . " $number.txt")
				if rand() < 0.05;
		}' "$@"
}

any_card_sums() {
	(cd "$1" && find . -type f -print0 | xargs -0 -r sha256sum) | sed 's#  \./#\t#' | LC_ALL=C sort
}
