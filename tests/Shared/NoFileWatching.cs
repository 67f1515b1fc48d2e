using System.Runtime.CompilerServices;

namespace School.Tests;

/// <summary>
/// Hundreds of hosts start in one process, and each would watch files for changes that never come: more watchers than the system
/// allows one user.
/// </summary>
internal static class NoFileWatching
{
    [ModuleInitializer]
    internal static void Set()
    {
        Environment.SetEnvironmentVariable("DOTNET_hostBuilder__reloadConfigOnChange", "false");
        Environment.SetEnvironmentVariable("DOTNET_USE_POLLING_FILE_WATCHER", "true");
    }
}
