using System.Collections.Concurrent;
using System.Runtime.CompilerServices;
using School.Tests;

namespace School.Web.Tests.Host;

/// <summary>
/// Hosts with the usual settings that a test is done with. To put one back costs a fraction of a start: its rows come anew from the
/// template, and what the process remembers is known (<see cref="RememberedInProcess"/>).
/// </summary>
internal static class IdleHosts
{
    private static readonly ConditionalWeakTable<TestPostgres, Pool> Pools = [];

    public static async Task<SchoolHost?> TakeAsync(TestPostgres postgres, string template, bool listening)
    {
        if (!PoolOf(postgres).Of(template, listening).TryTake(out var host))
        {
            return null;
        }

        await host.PutBackAsync();
        return host;
    }

    /// <summary>False where the run has ended.</summary>
    public static bool Keep(TestPostgres postgres, SchoolHost host)
    {
        var pool = PoolOf(postgres);
        if (pool.Ended)
        {
            return false;
        }

        pool.Of(host.From, host.Listens).Add(host);
        return true;
    }

    private static Pool PoolOf(TestPostgres postgres) => Pools.GetValue(postgres, one =>
    {
        var pool = new Pool();
        one.AtEnd(pool.StopAllAsync);
        return pool;
    });

    private sealed class Pool
    {
        private readonly ConcurrentDictionary<(string Template, bool Listening), ConcurrentBag<SchoolHost>> _hosts = [];

        public bool Ended { get; private set; }

        public ConcurrentBag<SchoolHost> Of(string template, bool listening) => _hosts.GetOrAdd((template, listening), _ => []);

        public async ValueTask StopAllAsync()
        {
            Ended = true;
            foreach (var host in _hosts.Values.SelectMany(hosts => hosts))
            {
                await host.StopAsync();
            }
        }
    }
}
