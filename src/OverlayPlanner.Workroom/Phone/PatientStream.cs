namespace OverlayPlanner.Workroom.Phone;

/// <summary>
/// What a phone sends, as long as something comes: a phone that went out of the Wi-Fi says no good-bye, and without an end its photo
/// would be waited for all day.
/// </summary>
/// <param name="inner">What it sends.</param>
/// <param name="patience">How long nothing at all may come.</param>
internal sealed class PatientStream(Stream inner, TimeSpan patience) : Stream
{
    public override bool CanRead => true;

    public override bool CanSeek => false;

    public override bool CanWrite => false;

    public override long Length => throw new NotSupportedException();

    public override long Position
    {
        get => throw new NotSupportedException();
        set => throw new NotSupportedException();
    }

    /// <exception cref="TimeoutException">Nothing came for too long.</exception>
    public override async ValueTask<int> ReadAsync(Memory<byte> buffer, CancellationToken cancellationToken = default)
    {
        using CancellationTokenSource late = CancellationTokenSource.CreateLinkedTokenSource(cancellationToken);
        late.CancelAfter(patience);
        try
        {
            return await inner.ReadAsync(buffer, late.Token);
        }
        catch (OperationCanceledException e) when (!cancellationToken.IsCancellationRequested)
        {
            throw new TimeoutException("Nothing came any more.", e);
        }
    }

    /// <exception cref="TimeoutException">Nothing came for too long.</exception>
    public override Task<int> ReadAsync(byte[] buffer, int offset, int count, CancellationToken cancellationToken) =>
        ReadAsync(buffer.AsMemory(offset, count), cancellationToken).AsTask();

    public override int Read(byte[] buffer, int offset, int count) => throw new NotSupportedException();

    public override void Flush() => throw new NotSupportedException();

    public override long Seek(long offset, SeekOrigin origin) => throw new NotSupportedException();

    public override void SetLength(long value) => throw new NotSupportedException();

    public override void Write(byte[] buffer, int offset, int count) => throw new NotSupportedException();
}
