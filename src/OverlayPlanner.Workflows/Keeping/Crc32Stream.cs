namespace OverlayPlanner.Workflows.Keeping;

/// <summary>Passes on what is written to it and keeps its checksum.</summary>
/// <remarks>CRC-32 as zip archives use it: ISO 3309, polynomial 0xEDB88320 reflected, start and final exclusive or of all ones.</remarks>
internal sealed class Crc32Stream(Stream target) : Stream
{
    private static readonly uint[] Table =
    [
        .. Enumerable
            .Range(0, 256)
            .Select(n =>
                Enumerable.Range(0, 8).Aggregate((uint)n, (c, _) => (c >> 1) ^ (0xEDB88320u & (0u - (c & 1u))))
            ),
    ];

    private uint state = uint.MaxValue;

    /// <summary>Checksum of all bytes so far.</summary>
    public uint Sum => ~state;

    /// <inheritdoc/>
    public override bool CanRead => false;

    /// <inheritdoc/>
    public override bool CanSeek => false;

    /// <inheritdoc/>
    public override bool CanWrite => true;

    /// <inheritdoc/>
    public override long Length => target.Length;

    /// <inheritdoc/>
    public override long Position
    {
        get => target.Position;
        set => throw new NotSupportedException();
    }

    /// <inheritdoc/>
    public override void Write(byte[] buffer, int offset, int count)
    {
        foreach (byte b in buffer.AsSpan(offset, count))
        {
            state = Table[(byte)(state ^ b)] ^ (state >> 8);
        }

        target.Write(buffer, offset, count);
    }

    /// <inheritdoc/>
    public override void Flush() => target.Flush();

    /// <inheritdoc/>
    public override int Read(byte[] buffer, int offset, int count) => throw new NotSupportedException();

    /// <inheritdoc/>
    public override long Seek(long offset, SeekOrigin origin) => throw new NotSupportedException();

    /// <inheritdoc/>
    public override void SetLength(long value) => throw new NotSupportedException();
}
