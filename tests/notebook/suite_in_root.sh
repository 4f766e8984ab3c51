# Runs a command in a copy of an image's root, on a copy of the checkout, which comes as a cpio archive;
# both are gone afterwards.
#
#     unshare --mount --pid --fork bash suite_in_root.sh PLACE ROOT DATA MODULES COMMAND ... < FILES
#
# What is written goes to memory, over the root, which stays as it is. All mounts belong to the
# processes that were unshared: the kernel takes them down with these, however they end.
set -eu
place=$1 root=$2 data=$3 modules=$4
shift 4
mount -t tmpfs -o mode=0755 tmpfs "$place"
mkdir "$place/above" "$place/work" "$place/root"
mount -t overlay -o "lowerdir=$root,upperdir=$place/above,workdir=$place/work" overlay "$place/root"
cd "$place/root"
mount -t proc proc proc
mount --rbind /sys sys
mount --rbind /dev dev
mount -t tmpfs -o mode=1777 tmpfs tmp
mkdir -p srv/closeout
cp -r "$modules" srv/unpackaged
if [ -d "$data" ]; then
    mkdir srv/data
    mount --bind "$data" srv/data
fi
chroot . sh -c "cd /srv/closeout && busybox cpio -idm 2>/dev/null
    python3 -m compileall -q --invalidation-mode unchecked-hash agent tests tools"
# Not in this shell's place: it stays, and takes in the children whose parents have ended.
chroot . "$@" </dev/null
