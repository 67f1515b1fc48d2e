using System.Buffers.Binary;
using System.Reflection;
using System.Reflection.Emit;

namespace School.Web.Tests.Host;

/// <summary>Which types a compiled type uses: in its bases, members, attributes, and in the code of its methods.</summary>
internal static class TypeUse
{
    private const BindingFlags Own = BindingFlags.Public | BindingFlags.NonPublic | BindingFlags.Static | BindingFlags.Instance | BindingFlags.DeclaredOnly;
    private const byte TwoByteOpcode = 0xfe;

    private static readonly Dictionary<short, OpCode> ByValue = typeof(OpCodes).GetFields(BindingFlags.Public | BindingFlags.Static)
        .Select(field => (OpCode)field.GetValue(null)!).ToDictionary(code => code.Value);

    public static IReadOnlySet<Type> Of(Type type)
    {
        var found = new HashSet<Type>();
        Add(found, type.BaseType);
        AddAll(found, type.GetInterfaces());
        AddAttributes(found, type);
        foreach (var member in type.GetMembers(Own))
        {
            AddAttributes(found, member);
            switch (member)
            {
                case FieldInfo field:
                    Add(found, field.FieldType);
                    break;
                case MethodBase method:
                    AddMethod(found, method);
                    break;
            }
        }

        return found;
    }

    /// <summary>The methods that the code of a type calls; not those of the types nested in it.</summary>
    public static IEnumerable<MethodBase> Calls(Type type) =>
        from member in type.GetMembers(Own).OfType<MethodBase>()
        where member.GetMethodBody() is not null
        from token in Tokens(member.GetMethodBody()!.GetILAsByteArray()!)
        let called = member.Module.ResolveMember(
            token, member.DeclaringType!.IsGenericType ? member.DeclaringType.GetGenericArguments() : null, member.IsGenericMethod ? member.GetGenericArguments() : null) as MethodBase
        where called is not null
        select called;

    private static void AddMethod(HashSet<Type> found, MethodBase method)
    {
        Add(found, (method as MethodInfo)?.ReturnType);
        AddAll(found, method.GetParameters().Select(p => p.ParameterType));
        if (method.GetMethodBody() is not { } body)
        {
            return;
        }

        AddAll(found, body.LocalVariables.Select(local => local.LocalType));
        AddAll(found, body.ExceptionHandlingClauses.Where(c => c.Flags == ExceptionHandlingClauseOptions.Clause).Select(c => c.CatchType));
        var typeArguments = method.DeclaringType!.IsGenericType ? method.DeclaringType.GetGenericArguments() : null;
        var methodArguments = method.IsGenericMethod ? method.GetGenericArguments() : null;
        foreach (var token in Tokens(body.GetILAsByteArray()!))
        {
            switch (method.Module.ResolveMember(token, typeArguments, methodArguments))
            {
                case Type used:
                    Add(found, used);
                    break;
                case MethodBase called:
                    Add(found, called.DeclaringType);
                    AddAll(found, called.IsGenericMethod ? called.GetGenericArguments() : []);
                    break;
                case FieldInfo field:
                    Add(found, field.DeclaringType);
                    break;
            }
        }
    }

    /// <summary>The metadata tokens that stand in a method's code (ECMA-335, partition III).</summary>
    private static IEnumerable<int> Tokens(byte[] code)
    {
        for (var at = 0; at < code.Length;)
        {
            var opcode = code[at] == TwoByteOpcode ? ByValue[(short)((TwoByteOpcode << 8) | code[at + 1])] : ByValue[code[at]];
            at += opcode.Size;
            if (opcode.OperandType is OperandType.InlineMethod or OperandType.InlineField or OperandType.InlineType or OperandType.InlineTok)
            {
                yield return BinaryPrimitives.ReadInt32LittleEndian(code.AsSpan(at));
            }

            at += opcode.OperandType switch
            {
                OperandType.InlineNone => 0,
                OperandType.ShortInlineBrTarget or OperandType.ShortInlineI or OperandType.ShortInlineVar => 1,
                OperandType.InlineVar => 2,
                OperandType.InlineI8 or OperandType.InlineR => 8,
                OperandType.InlineSwitch => 4 + (4 * BinaryPrimitives.ReadInt32LittleEndian(code.AsSpan(at))),
                _ => 4,
            };
        }
    }

    private static void AddAttributes(HashSet<Type> found, MemberInfo member)
    {
        foreach (var attribute in member.CustomAttributes)
        {
            Add(found, attribute.AttributeType);
            AddAll(found, attribute.ConstructorArguments.Select(a => a.Value).OfType<Type>());
        }
    }

    private static void AddAll(HashSet<Type> found, IEnumerable<Type?> types)
    {
        foreach (var type in types)
        {
            Add(found, type);
        }
    }

    private static void Add(HashSet<Type> found, Type? type)
    {
        while (type is { HasElementType: true })
        {
            type = type.GetElementType();
        }

        if (type is null or { IsGenericParameter: true })
        {
            return;
        }

        if (type.IsConstructedGenericType)
        {
            AddAll(found, type.GetGenericArguments());
            type = type.GetGenericTypeDefinition();
        }

        found.Add(type);
    }
}
