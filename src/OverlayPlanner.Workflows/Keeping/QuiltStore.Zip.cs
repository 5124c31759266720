using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workflows.Keeping;

/// <content>Quilts as one file, to be carried elsewhere.</content>
public sealed partial class QuiltStore
{
    /// <summary>
    /// Writes a quilt as one zip archive of its plain files. The same files give the same bytes. The state is that of one moment; a
    /// slow reader of <paramref name="zip"/> keeps nobody from saving.
    /// </summary>
    /// <exception cref="InputException">There is no such quilt, a file can't be read, or the system's temporary folder is full.</exception>
    public void Export(string id, Stream zip)
    {
        ArgumentNullException.ThrowIfNull(zip);
        string folder = Open(id).Folder;
        FileStream whole = QuiltZip.Temporary();
        using (whole)
        {
            try
            {
                using StoreLock held = StoreLock.TakeToRead(Root);
                QuiltZip.Pack(folder, whole);
            }
            catch (Exception e) when (e is IOException or UnauthorizedAccessException)
            {
                throw new InputException(
                    "The quilt can't be exported",
                    folder,
                    "Check that its files can be read and that the disk has space.",
                    e
                );
            }

            whole.Position = 0;
            whole.CopyTo(zip);
        }
    }

    /// <summary>Keeps the quilt of an export as a new one, whole or not at all.</summary>
    /// <param name="zip">The archive; it need not be seekable.</param>
    /// <exception cref="InputException">
    /// It is no zip archive, is damaged, holds no kept quilt or one of a later version, has more than 200 entries or more than 500 MB
    /// unpacked, or names files that would lie outside the quilt's folder or that not every system can hold; or it can't be written.
    /// </exception>
    public KeptQuilt Import(Stream zip)
    {
        ArgumentNullException.ThrowIfNull(zip);
        using FileStream whole = QuiltZip.Temporary();
        try
        {
            QuiltZip.CopyLimited(zip, whole);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new InputException("The zip file did not arrive whole", "the zip file", "Send it again.", e);
        }

        string name = CheckName(QuiltZip.SettingsOf(whole).Name);
        return Add(name, staging => QuiltZip.Unpack(whole, staging));
    }
}
