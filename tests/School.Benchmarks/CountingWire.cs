using System.Buffers.Binary;
using System.Net;
using System.Net.Sockets;

namespace School.Benchmarks;

/// <summary>
/// A wire to PostgreSQL that counts what goes over it, by the messages of its protocol (its documentation, "Message Formats"): a Sync
/// or a Query is one way to the database and back, an Execute or a Query is one statement.
/// </summary>
internal sealed class CountingWire : IAsyncDisposable
{
    private const int StartOfProtocol3 = 196_608;
    private readonly TcpListener _listener = new(IPAddress.Loopback, 0);
    private readonly CancellationTokenSource _stop = new();
    private readonly int _to;
    private readonly Task _accepting;
    private long _ways;
    private long _statements;

    public CountingWire(int to)
    {
        _to = to;
        _listener.Start();
        _accepting = AcceptAsync();
    }

    public int Port => ((IPEndPoint)_listener.LocalEndpoint).Port;

    public (long Ways, long Statements) Counted => (Interlocked.Read(ref _ways), Interlocked.Read(ref _statements));

    public async ValueTask DisposeAsync()
    {
        await _stop.CancelAsync();
        _listener.Stop();
        await _accepting;
        _stop.Dispose();
    }

    private async Task AcceptAsync()
    {
        var open = new List<Task>();
        try
        {
            while (!_stop.IsCancellationRequested)
            {
                open.Add(CarryAsync(await _listener.AcceptTcpClientAsync(_stop.Token)));
            }
        }
        catch (Exception stopped) when (stopped is OperationCanceledException or SocketException or ObjectDisposedException)
        {
        }

        await Task.WhenAll(open);
    }

    private async Task CarryAsync(TcpClient from)
    {
        using var to = new TcpClient();
        using (from)
        {
            try
            {
                await to.ConnectAsync(IPAddress.Loopback, _to);
                (from.NoDelay, to.NoDelay) = (true, true);
                var back = to.GetStream().CopyToAsync(from.GetStream(), _stop.Token);
                await CountAsync(from.GetStream(), to.GetStream());
                to.Client.Shutdown(SocketShutdown.Send);
                await back;
            }
            catch (Exception ended) when (ended is IOException or SocketException or OperationCanceledException)
            {
            }
        }
    }

    private async Task CountAsync(NetworkStream from, NetworkStream to)
    {
        var started = false;
        var head = new byte[5];
        while (true)
        {
            // Until the session has started a message has no letter before its length.
            var before = started ? 1 : 0;
            if (await from.ReadAtLeastAsync(head.AsMemory(0, before + 4), before + 4, throwOnEndOfStream: false, _stop.Token) < before + 4)
            {
                return;
            }

            var body = new byte[BinaryPrimitives.ReadInt32BigEndian(head.AsSpan(before)) - 4];
            await from.ReadExactlyAsync(body, _stop.Token);
            started |= BinaryPrimitives.ReadInt32BigEndian(body.AsSpan(0, Math.Min(4, body.Length)).Length == 4 ? body : head.AsSpan(before)) == StartOfProtocol3;
            if (before == 1)
            {
                Interlocked.Add(ref _ways, head[0] is (byte)'S' or (byte)'Q' ? 1 : 0);
                Interlocked.Add(ref _statements, head[0] is (byte)'E' or (byte)'Q' ? 1 : 0);
            }

            await to.WriteAsync(new ReadOnlyMemory<byte>([.. head.AsSpan(0, before + 4), .. body]), _stop.Token);
        }
    }
}
