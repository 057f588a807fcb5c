using System.Diagnostics.CodeAnalysis;
using System.IO.Pipelines;

namespace CellWatch.FrontEnds.Transport;

/// <summary>
/// A port inside this process: an emulated board on its far end says what a real one would say over a wire. Thread-safe.
/// Unplugging ends the open link as a pulled lead does; while unplugged it cannot be opened.
/// </summary>
[SuppressMessage("Design", "CA1001", Justification = "The front end that opens a link disposes of it.")]
public sealed class PipePort : IBytePort
{
    private readonly Lock _lock = new();
    private readonly PipeOptions _options;
    private PipeLink? _link;
    private bool _isUnplugged;

    /// <param name="name">How to name it, say <c>emulated board 1</c>.</param>
    /// <param name="bufferBytes">Bytes held for a reader that is late; older ones are lost whole writes at a time, as on a real port.</param>
    public PipePort(string name, int bufferBytes = 64 * 1024)
    {
        Name = name;
        _options = new PipeOptions(pauseWriterThreshold: 0, useSynchronizationContext: false);
        BufferBytes = bufferBytes;
    }

    /// <inheritdoc/>
    public string Name { get; }

    /// <summary>Most bytes held for a late reader.</summary>
    public int BufferBytes { get; }

    /// <summary>Called with the bytes the host sends to the board.</summary>
    public Action<ReadOnlyMemory<byte>>? Received { get; set; }

    /// <summary>Whether a front end has it open now.</summary>
    public bool IsOpen
    {
        get { lock (_lock) return _link is { IsClosed: false }; }
    }

    /// <inheritdoc/>
    public ValueTask<IByteLink> OpenAsync(CancellationToken cancellation)
    {
        lock (_lock)
        {
            if (_isUnplugged) throw new PortException(PortFault.Absent, $"{Name} is not plugged in.");
            if (_link is { IsClosed: false }) throw new PortException(PortFault.InUseOrNotAllowed, $"{Name} is in use.");
            _link = new PipeLink(this, _options);
            return ValueTask.FromResult<IByteLink>(_link);
        }
    }

    /// <summary>The board says something; lost when nobody listens, like on a wire.</summary>
    public void Send(ReadOnlySpan<byte> bytes)
    {
        lock (_lock) _link?.Send(bytes, BufferBytes);
    }

    /// <summary>Pulls the lead: the open link ends at once.</summary>
    public void Unplug()
    {
        lock (_lock)
        {
            _isUnplugged = true;
            _link?.End();
            _link = null;
        }
    }

    /// <summary>Puts the lead back.</summary>
    public void PlugIn()
    {
        lock (_lock) _isUnplugged = false;
    }

    private sealed class PipeLink : IByteLink
    {
        private readonly Lock _gate = new();
        private readonly Pipe _pipe;
        private long _held;

        public PipeLink(PipePort port, PipeOptions options)
        {
            _pipe = new Pipe(options);
            Stream = new LinkStream(port, this);
        }

        public Stream Stream { get; }

        public bool IsPresent => !IsClosed;

        public bool IsClosed { get; private set; }

        public void Send(ReadOnlySpan<byte> bytes, int most)
        {
            lock (_gate)
            {
                if (IsClosed || Interlocked.Read(ref _held) + bytes.Length > most) return;
                bytes.CopyTo(_pipe.Writer.GetSpan(bytes.Length));
                _pipe.Writer.Advance(bytes.Length);
                Interlocked.Add(ref _held, bytes.Length);
                // Completes at once: the writer is never paused.
                var flush = _pipe.Writer.FlushAsync();
                if (!flush.IsCompletedSuccessfully) _ = flush.AsTask();
            }
        }

        public void End()
        {
            lock (_gate)
            {
                if (IsClosed) return;
                IsClosed = true;
                _pipe.Writer.Complete();
            }
        }

        public async ValueTask DisposeAsync()
        {
            End();
            await _pipe.Reader.CompleteAsync();
        }

        private sealed class LinkStream(PipePort port, PipeLink link) : Stream
        {
            public override bool CanRead => true;

            public override bool CanSeek => false;

            public override bool CanWrite => true;

            public override long Length => throw new NotSupportedException();

            public override long Position { get => throw new NotSupportedException(); set => throw new NotSupportedException(); }

            public override async ValueTask<int> ReadAsync(Memory<byte> buffer, CancellationToken cancellationToken = default)
            {
                var result = await link._pipe.Reader.ReadAsync(cancellationToken);
                var piece = result.Buffer.Slice(0, Math.Min(result.Buffer.Length, buffer.Length));
                var length = (int)piece.Length;
                System.Buffers.BuffersExtensions.CopyTo(piece, buffer.Span);
                link._pipe.Reader.AdvanceTo(piece.End);
                Interlocked.Add(ref link._held, -length);
                return length;
            }

            public override Task<int> ReadAsync(byte[] buffer, int offset, int count, CancellationToken cancellationToken) =>
                ReadAsync(buffer.AsMemory(offset, count), cancellationToken).AsTask();

            public override ValueTask WriteAsync(ReadOnlyMemory<byte> buffer, CancellationToken cancellationToken = default)
            {
                if (link.IsClosed) throw new IOException($"{port.Name} is not plugged in.");
                port.Received?.Invoke(buffer);
                return ValueTask.CompletedTask;
            }

            public override Task WriteAsync(byte[] buffer, int offset, int count, CancellationToken cancellationToken) =>
                WriteAsync(buffer.AsMemory(offset, count), cancellationToken).AsTask();

            public override int Read(byte[] buffer, int offset, int count) => throw new NotSupportedException("Read asynchronously.");

            public override void Write(byte[] buffer, int offset, int count) => port.Received?.Invoke(buffer.AsMemory(offset, count));

            public override void Flush() { }

            public override long Seek(long offset, SeekOrigin origin) => throw new NotSupportedException();

            public override void SetLength(long value) => throw new NotSupportedException();
        }
    }
}
