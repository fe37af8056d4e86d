"""Forms, one module per noun: is each field well formed?"""
