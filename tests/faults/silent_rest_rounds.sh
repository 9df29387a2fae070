#!/bin/sh
# SPDX-License-Identifier: ISC
# Delivered bags that change while they lie there: bits, blocks, halves, sizes and names of the payload, many at once; and each
# file of the bag's own, one at a time. What was altered is found by sha256sum before and after; `verify` must name just that.
set -eu
. "$HEADRACE_SOURCE/tests/faults/ground.sh"
. "$HEADRACE_SOURCE/tests/faults/rounds.sh"
. "$HEADRACE_SOURCE/tests/faults/any_card.sh"
claim='what changed in a bag since it was delivered is named by verify, and nothing else is'
rounds_default=2
rounds_begin "$@"
trap 'rm -rf "$scratch"' EXIT
ground_folder

# alter SEED PERCENT: about so many of the files that are named on stdin, each name with a NUL behind it, each in one way.
alter() {
	perl -e '
		use strict; use warnings;
		srand shift;
		my $percent = shift;
		my @files = do { local $/ = "\0"; map { chomp; $_ } <STDIN> };
		sub load { open my $in, "<:raw", $_[0] or die "$_[0]: $!"; local $/; return <$in> // "" }
		sub store { open my $out, ">:raw", $_[0] or die "$_[0]: $!"; print $out $_[1] }
		sub another { my @there = grep { -e } @files; $there[rand @there] }
		# A block put over what is there; the size stays.
		sub put { my ($bytes, $at, $block) = @_; my $size = length substr($bytes, $at, 4096); substr($bytes, $at, $size) = substr($block . "\0" x 4096, 0, $size); $bytes }
		my @ways = (
			sub { my ($bytes) = @_; vec($bytes, rand 8 * length $bytes, 1) ^= 1; $bytes },
			sub { my ($bytes) = @_; put($bytes, 4096 * int rand(length($bytes) / 4096), "\0" x 4096) },
			sub { my ($bytes) = @_; put($bytes, 0, load(another())) },
			sub { my ($bytes) = @_; my $half = int(length($bytes) / 2); substr($bytes, 0, $half) . "\0" x (length($bytes) - $half) },
			sub { substr $_[0], 0, int rand length $_[0] },
			sub { $_[0] . "more" },
			sub { my @lines = split /(?<=\n)/, $_[0]; splice @lines, rand @lines, 1; join "", @lines },
		);
		for my $file (@files) {
			next if !-e $file || rand(100) >= $percent;
			my $way = int rand(@ways + 3);
			my $bytes = load($file);
			if ($way < @ways) { store($file, length $bytes ? $ways[$way]->($bytes) : "more") }
			elsif ($way == @ways) { unlink $file or die $! }
			elsif ($way == @ways + 1) { rename $file, "$file.old" or die $! }
			else { my $other = another(); store($file, load($other)); store($other, $bytes) }
		}' "$@"
}

verify() {
	status=0
	"$headrace" verify one --json >verified 2>complaints || status=$?
	jq -r '.bags[].problems[] | [.kind, .path, .text] | @tsv' verified >problems
}

# Says whether what verify named is what sha256sum sees changed since $before; figures by what the change was.
names_what_changed() {
	any_card_sums "$bag" >after
	perl -e '
		use strict; use warnings;
		sub lines { open my $in, "<", $_[0] or die $!; map { chomp; $_ } <$in> }
		my %before = map { reverse split /\t/ } lines("before");
		my %after = map { reverse split /\t/ } lines("after");
		my (%changed, %named, $bad);
		for (keys %before) { $changed{$_} = !exists $after{$_} ? "missing" : "differs" if ($after{$_} // "") ne $before{$_} }
		exists $before{$_} or $changed{$_} = "not listed" for keys %after;
		for (lines("problems")) {
			my ($kind, $path, $text) = split /\t/;
			next if $path eq "bag-info.txt" && $text =~ /^says Payload-Oxum/; # sizes that changed, all together
			$named{$path} = $kind;
		}
		print "# $_ $changed{$_}, verify: ", $named{$_} // "-", "\n" and $bad = 1 for grep { ($named{$_} // "") !~ $changed{$_} } sort keys %changed;
		print "# nothing is wrong with $_, verify: $named{$_}\n" and $bad = 1 for grep { !$changed{$_} } sort keys %named;
		open my $out, ">", "changed" or die $!;
		print $out "$_\n" for values %changed;
		exit($bad ? 1 : 0)' || rounds_broken 'verify named other files than those that changed'
	tr " " _ <changed | sort | uniq -c >counts
	while read -r count what; do
		rounds_figure "$what" "$count"
	done <counts
	rounds_figure altered "$(wc -l <changed)"
}

payload_changes_are_named() {
	(cd "$bag" && find data -type f -print0 | LC_ALL=C sort -z | alter "$seed" 60)
	verify
	[ "$status" = 1 ] || rounds_broken "status $status for a bag that changed"
	names_what_changed
}

# The last list of digests has none of its own: a line without its end, or a digit in the other case, is the same list.
says_the_same() {
	[ "$tag" = tagmanifest-sha256.txt ] && [ -e "$bag/$tag" ] && (cd "$bag" && sha256sum --status --strict -c "$tag" 2>/dev/null) &&
		[ "$(grep -c '' "$bag/$tag")" = "$(grep -c '' "pristine/${bag#one/}/$tag")" ]
}

# A bag without bagit.txt is one that was not finished.
tag_changes_are_named() {
	way=$seed
	for tag in bagit.txt bag-info.txt files.csv frames.csv throughput.csv manifest-sha256.txt manifest-xxh128.txt tagmanifest-sha256.txt; do
		rm -rf one
		cp -a pristine one
		way=$((way + 1))
		(cd "$bag" && printf '%s\0' "$tag" | alter "$way" 100)
		any_card_sums "$bag" >after
		! cmp -s before after || continue
		! says_the_same || continue
		verify
		[ "$status" = 1 ] || rounds_broken "status $status though $tag changed"
		jq -e '.bags[].verdict == "unfinished"' verified >/dev/null || grep -q "$tag" problems || rounds_broken "$tag changed and is not named"
		rounds_figure tag_files 1
		rounds_figure altered 1
	done
}

one_round() {
	rm -rf card one pristine
	any_card card "$seed" 400
	mkdir one
	"$headrace" offload card --to one --same-device --job 'Cup final' --quiet >/dev/null 2>complaints
	cp -a one pristine
	bag=$(echo one/*/*)
	any_card_sums "$bag" >before
	verify
	[ "$status" = 0 ] && [ ! -s problems ] || rounds_broken 'a bag as it was delivered is not right'
	payload_changes_are_named
	tag_changes_are_named
}

while rounds_next; do
	one_round
done
rounds_end "$claim"
